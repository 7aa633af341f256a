# season.gp: frost and heat by year. Reads season.csv.
load system("dirname '".ARG0."'")."/common.gp"
n = count("season.csv", "1")
if (n == 0) exit
set output picture("season")
bases = (system(sprintf("head -n 1 '%s/season.csv' | tr ';' ',' | awk -F, '{ print NF }'", dir)) - 5) / 2
first_year = system(awk_of("season.csv", "NR == 1 { print c[1] }")) + 0
set xrange [first_year - 1:first_year + n]
tic_years = n > 12 ? 5 : 1
set xtics tic_years
# A date as a day of its season's calendar, so that all years share an axis; a frost after New Year lies above December.
day(cell) = strlen(strcol(cell)) > 0 ? strptime("%Y-%m-%d", strcol(cell)) - strptime("%Y-%m-%d", \
    sprintf("%d-01-01", column(1))) + strptime("%Y", "2001") : NaN
base_of(i) = system("echo '".column_name("season.csv", 5 + i)."' | sed 's/heat_//; s/_c$//'")
set multiplot
set label 1 two_lines("Frost and heat, year by year")
set lmargin at screen 0.10
set rmargin at screen 0.97
set tmargin at screen 0.84; set bmargin at screen 0.53
set offsets 0, 0, graph 0.06, graph 0.06
set key at screen 0.5, screen 0.90 center top horizontal
set ylabel "day of the year"
set ydata time
set timefmt "%Y-%m-%d"
set ytics ()
do for [k=0:11] {
  tic_day = strptime("%Y-%m-%d", sprintf("%d-%02d-01", 2001 + k / 6, 2 * (k % 6) + 1))
  set ytics add (strftime("%d %b", tic_day) tic_day)
}
plot rows("season.csv", "1") using 1:(day(2)) with linespoints linewidth 2 pointtype 7 pointsize 1 \
    linecolor rgb dark title "last frost of spring", \
     "" using 1:(day(3)) with linespoints linewidth 2 dashtype 2 pointtype 6 pointsize 1 linecolor rgb \
         middle title "first frost of autumn", \
     "" using 1:(day(4)) with linespoints linewidth 2 dashtype 4 pointtype 9 pointsize 1.2 linecolor rgb \
         orange title "first hard frost"
unset label 1
set ydata
set ytics autofreq
set format y "%g"
set tmargin at screen 0.39; set bmargin at screen 0.10
set offsets 0, 0, 0, 0
set key at screen 0.5, screen 0.45 center top horizontal
set ylabel "degree-days in the season"
set yrange [0:*]
set xlabel "year in which the season begins"
colours = dark." ".orange." ".middle." ".green
plot for [i=1:bases] rows("season.csv", "1") using 1:(column(5 + i)) with linespoints linewidth 2 dashtype \
    i pointtype (word("7 6 9 4", (i - 1) % 4 + 1) + 0) linecolor rgb word(colours, (i - 1) % 4 + 1) title \
    "heat above ".base_of(i)." degrees C"
unset multiplot
