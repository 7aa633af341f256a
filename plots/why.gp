# why.gp: what decides whether the stores last. Reads why.csv.
load system("dirname '".ARG0."'")."/common.gp"
set output picture("why")
groups = rows("why.csv", "c[2] == \"meals_short\"")
n = system(sprintf("awk -f '%s/rows.awk' '%s/why.csv' | awk -F, '$2 == \"meals_short\"' | wc -l", here, dir)) + 0
set title two_lines("What decides it: running short in the worst and the best tenth of trials of each")
set xlabel "chance of running short (%)"
set xrange [0:100]
set yrange [n - 0.5:-0.5]
set lmargin 40
set grid xtics noytics
set key outside bottom center horizontal
plot groups using (100*$10):0:(100*($9-$10)):(0) with vectors nohead linewidth 3 linecolor rgb middle notitle, \
     "" using (100*$9):0:yticlabels(strcol(1)[1:44]) with points pointtype 7 pointsize 1.5 linecolor rgb orange title "its worst tenth", \
     "" using (100*$10):0 with points pointtype 4 pointsize 1.5 linewidth 2 linecolor rgb dark title "its best tenth"
