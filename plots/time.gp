# time.gp: the axis of dates of pictures drawn from weeks.csv: first and last day, a mark for each month or so.
# Weeks that less than half of the trials cover (early or late harvests) are left out.
half = most("weeks.csv", "1", "c[5]") / 2.0
covered(food) = sprintf("c[4] == \"%s\" && c[5] >= %s", food, sprintf("%.1f", half))
span = system(awk_of("weeks.csv", \
    sprintf("c[5] >= %.1f { if (!a || c[3] < a) a = c[3]; if (c[3] > z) z = c[3] } END { print a, z }", \
    half)))
week = 7 * 86400
first_day = strptime("%Y-%m-%d", word(span, 1))
last_day = strptime("%Y-%m-%d", word(span, 2)) + week
set xdata time
set timefmt "%Y-%m-%d"
set xrange [first_day:last_day]
set format x ""
set bmargin 4
months = (last_day - first_day) / 86400 / 30
every = months <= 15 ? 1 : months <= 50 ? 3 : 12
set xtics ()
told = 0
do for [k=0:int(months) + 2] {
  month = int(tm_mon(first_day)) + k
  at_day = strptime("%Y-%m-%d", sprintf("%d-%02d-01", int(tm_year(first_day)) + month / 12, month % 12 + 1))
  if (at_day >= first_day && at_day <= last_day && month % every == 0) {
    set xtics add (strftime("%b", at_day).(month % 12 == 0 || !told ? "\n".strftime("%Y", at_day) : "") \
        at_day)
    told = 1
  }
}
