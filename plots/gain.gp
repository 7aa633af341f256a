# gain.gp: what each further step of a setting buys: chance of running short by rung, with its 95 % range. Reads vary.csv.
load system("dirname '".ARG0."'")."/common.gp"
year = count("vary.csv", "c[5] == \"all\"") > 0 ? "all" : "1"
judged = sprintf("c[5] == \"%s\" && c[7] == \"chance_short\" && c[6] == \"any\"", year)
if (count("vary.csv", judged) == 0) exit
set output picture("gain")
lines_of = different("vary.csv", judged, "(c[4] == \"\" ? \"-\" : c[4])")
steps = different("vary.csv", judged, "c[2]")
longest = 0
do for [i=1:words(steps)] { longest = strlen(word(steps, i)) > longest ? strlen(word(steps, i)) : longest }
one = words(lines_of) == 1
set label 1 two_lines("What each further step buys".(year eq "all" ? " (short in any of the food years)" : \
    ""))
set xlabel system(awk_of("vary.csv", "NR == 1 { print c[1] }"))
set ylabel "chance of running short of either food (%)"
set yrange [0:(1.15 * 100 * most("vary.csv", judged, "c[12]") + 0.1)]
set xrange [-0.5:words(steps) - 0.3]
if (longest * words(steps) > 70) { set xtics rotate by -40 } else { set xtics norotate }
if (!one) set key title system(awk_of("vary.csv", "NR == 1 { print c[3] }"))
rung(i) = rows("vary.csv", judged." && (c[4] == \"\" ? \"-\" : c[4]) == \"".word(lines_of, i)."\"")
colours = dark." ".orange." ".middle." ".green." #777777"
colour(i) = word(colours, (i - 1) % 5 + 1)
shape(i) = word("7 5 9 6 4", (i - 1) % 5 + 1) + 0
step(cell) = strlen(strcol(cell)) > 0 ? sprintf("%+.1f", 100 * column(cell)) : ""
if (one) {
  plot rung(1) using 0:(100*$9):xticlabels(2) with lines linewidth 2 linecolor rgb middle notitle, \
       "" using 0:(100*$9):(100*$11):(100*$12) with yerrorbars linewidth 2 pointtype 7 pointsize 1.2 \
           linecolor rgb dark title "chance, with the simulation's 95 % range", \
       "" using 0:(100*$9):(step(13)) with labels left offset 0.8,0.9 textcolor rgb orange notitle, \
       keyentry with points pointtype 1 linecolor rgb orange title \
           "by the points: change by this step (percentage points)"
} else {
  plot for [i=1:words(lines_of)] rung(i) using 0:(100*$9):xticlabels(2) with lines linewidth 2 dashtype i \
      linecolor rgb colour(i) notitle, \
       for [i=1:words(lines_of)] rung(i) using 0:(100*$9):(100*$11):(100*$12) with yerrorbars linewidth 2 \
           pointtype shape(i) pointsize 1.3 linecolor rgb colour(i) title word(lines_of, i)
}
