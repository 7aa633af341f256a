# stores.gp: the stores through the year as bands, with the harvest and the hungry weeks marked. Reads weeks.csv.
load system("dirname '".ARG0."'")."/common.gp"
set output picture("stores")
set xdata time
set timefmt "%Y-%m-%d"
set format x "%b\n%Y"
set xtics 5259492
set multiplot layout 2,1 title two_lines("How the stores last")
set yrange [0:*]
set y2range [0:100]
set y2label "short weeks (% of trials)"
set y2tics 0,25,100
set border 11
set style fill solid 1.0 noborder
week = 7 * 86400
foods = "beans squash"
names = "'dry beans' 'winter squash'"
do for [i=1:2] {
  food = word(foods, i)
  set ylabel word(names, i)." in store (kg)"
  set key top right maxrows 3
  set offsets 0, 0, graph 0.3, 0
  if (i == 2) { set key off }
  plot rows("weeks.csv", covered(food)) using 3:($13 >= 0.1 ? 100 : 0):(week) axes x1y2 with boxes fillcolor rgb "#fee6ce" title "hungry: 1 year in 10 is short", \
       rows("weeks.csv", covered(food)." && (rising = (c[6] > before + 0.001)) + 0 * (before = c[6]) > 0") using 3:(4):(week) axes x1y2 with boxes fillcolor rgb "#238b45" title "harvest comes in", \
       rows("weeks.csv", covered(food)) using 3:7:11 with filledcurves linecolor rgb light title "9 futures in 10", \
       "" using 3:8:10 with filledcurves linecolor rgb middle title "the middle half", \
       "" using 3:9 with lines linewidth 3 linecolor rgb dark title "half of them have more", \
       "" using 3:(100*$13) axes x1y2 with lines linewidth 2 dashtype 2 linecolor rgb orange title "short weeks (right)"
}
unset multiplot
