# stores.gp: the stores through the year as bands, with the harvest and the hungry weeks marked. Reads weeks.csv.
load system("dirname '".ARG0."'")."/common.gp"
set output picture("stores")
set xdata time
set timefmt "%Y-%m-%d"
set format x "%b\n%Y"
set xtics 5259492
set multiplot layout 2,1 title "How the stores last: ".title_text noenhanced
set ylabel "dry beans in store (kg)"
set yrange [0:*]
set y2range [0:1]
set y2label "chance of a short week"
set y2tics 0,0.5,1
set border 11
set style fill solid 1.0 noborder
foods = "beans squash"
names = "'dry beans' 'winter squash'"
do for [i=1:2] {
  food = word(foods, i)
  set ylabel word(names, i)." in store (kg)"
  if (i == 2) { set key off } else { set key top right }
  plot rows("weeks.csv", "c[4] == \"".food."\"") using 3:7:11 with filledcurves linecolor rgb light title "9 futures in 10", \
       "" using 3:8:10 with filledcurves linecolor rgb middle title "the middle half", \
       "" using 3:9 with lines linewidth 3 linecolor rgb dark title "half of them have more", \
       "" using 3:13 axes x1y2 with lines linewidth 2 dashtype 2 linecolor rgb orange title "chance of a short week (right)"
}
unset multiplot
