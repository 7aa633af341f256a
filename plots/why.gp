# why.gp: what decides whether the stores last. Reads why.csv.
load system("dirname '".ARG0."'")."/common.gp"
groups = "c[2] == \"meals_short\""
n = count("why.csv", groups)
if (n == 0) exit
set output picture("why")
longest = most("why.csv", groups, "length(c[1])")
set label 1 \
    two_lines("What decides it: running short in the worst and in the best tenth of the trials, by each group's luck")
set xlabel "chance of running short (%)"
set xrange [0:100]
set yrange [n - 0.5:-0.5]
set lmargin at screen 0.03 + 0.0088 * (longest > 44 ? 44 : longest)
set bmargin at screen 0.15
set grid xtics noytics
set key at screen 0.5, screen 0.01 center bottom horizontal
plot rows("why.csv", groups) using (100*$10):0:(100*($9-$10)):(0) with vectors nohead linewidth 3 linecolor \
    rgb middle notitle, \
     "" using (100*$9):0:yticlabels(strcol(1)[1:44]) with points pointtype 7 pointsize 1.5 linecolor rgb \
         orange title "its worst tenth", \
     "" using (100*$10):0 with points pointtype 4 pointsize 1.5 linewidth 2 linecolor rgb dark title \
         "its best tenth"
