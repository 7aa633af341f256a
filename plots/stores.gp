# stores.gp: the stores through the year as bands, with harvest, frost and the hungry weeks marked. Reads weeks.csv and summary.csv.
load system("dirname '".ARG0."'")."/common.gp"
if (count("weeks.csv", "1") == 0) exit
load here."/time.gp"
set output picture("stores")
set y2range [0:100]
set y2label "short weeks (% of trials)"
set y2tics 0,25,100
set border 11
set lmargin at screen 0.09
set rmargin at screen 0.91
middle_of(i) = timecolumn(i) + week / 2
foods = "beans squash"
names = "'dry beans' 'winter squash'"
# The covered weeks of a food with one cell more: 1 where the stock rises.
rising(food) = "< ".awk_of("weeks.csv", \
    sprintf("c[4] == \"%s\" { up = seen && c[6] > before + 0.001; seen = 1; before = c[6]; if (c[5] >= %.1f) print $0 \",\" up + 0 }", food, half))

# Usual frosts: their middle dates in the first food year.
frost(name) = \
    system(sprintf("test -f '%s/summary.csv' && awk -f '%s/rows.awk' '%s/summary.csv' | awk -F, '$4 == \"%s_p50\" && $10 != \"\" && !seen++ { print substr($10, 6) }'", dir, here, dir, name))
frosts = frost("last_frost")." ".frost("first_hard_frost")
has_frost = words(frosts) == 2
mark = 10
if (has_frost) {
  do for [y=int(tm_year(first_day)):int(tm_year(last_day))] {
    do for [f=1:2] {
      day = strptime("%Y-%m-%d", sprintf("%d-%s", y, word(frosts, f)))
      if (day > first_day && day < last_day) {
        set arrow mark from day, graph 0 to day, graph 1 nohead linewidth 2 dashtype 3 linecolor rgb \
            "#555555" front
        mark = mark + 1
      }
    }
  }
}

set multiplot
set label 1 two_lines("How the stores last")
do for [i=1:2] {
  food = word(foods, i)
  if (i == 1) {
    set tmargin at screen 0.77; set bmargin at screen 0.49
    set key at screen 0.5, screen 0.90 center top maxrows 4 samplen 3
  } else {
    set tmargin at screen 0.41; set bmargin at screen 0.09
    set key off
    unset label 1
  }
  top = most("weeks.csv", covered(food), "c[11]")
  set yrange [0:(top > 0 ? 1.12 * top : 1)]
  set ylabel word(names, i)." in store (kg)"
  # The strips are boxes of no height in the weeks that they do not mark.
  plot rows("weeks.csv", covered(food)) using 3:7:11 with filledcurves linecolor rgb light title \
      "9 futures in 10", \
       "" using 3:8:10 with filledcurves linecolor rgb middle title "the middle half", \
       "" using 3:9 with lines linewidth 3 linecolor rgb dark title "half have more", \
       rising(food) using (middle_of(3)):(0):(timecolumn(3)):(timecolumn(3) + week):(0):(3 * $18) \
           axes x1y2 with boxxyerror fillcolor rgb green notitle, \
       rows("weeks.csv", covered(food)) using (middle_of(3)):(100):(timecolumn(3)):(timecolumn(3) + \
           week):($13 >= 0.1 ? 97 : 100):(100) \
           axes x1y2 with boxxyerror fillcolor rgb orange notitle, \
       rows("weeks.csv", covered(food)) using 3:(100*$13) axes x1y2 with lines linewidth 3 dashtype 2 \
           linecolor rgb orange title "short weeks (right)", \
       keyentry with boxes fillstyle solid fillcolor rgb green title "harvest comes in (foot)", \
       keyentry with boxes fillstyle solid fillcolor rgb orange title "hungry: short in 1 year of 10 (top)", \
       keyentry with lines linewidth 2 dashtype 3 linecolor rgb "#555555" title (has_frost ? \
           "usual last, first hard frost" : "no frost")
}
unset multiplot
