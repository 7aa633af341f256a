# side.gp: scenarios side by side on the same luck. Reads compare.csv.
load system("dirname '".ARG0."'")."/common.gp"
set output picture("side")
pairs = rows("compare.csv", "c[3] == 1 && c[5] == \"chance_short\" && c[4] == \"any\"")
n = system(sprintf("awk -f '%s/rows.awk' '%s/compare.csv' | awk -F, '$3 == 1 && $5 == \"chance_short\" && $4 == \"any\"' | wc -l", here, dir)) + 0
set title two_lines("Scenarios side by side, on the same luck, against:")
set xlabel "change of the chance of running short, points of a hundred (95 % ranges)"
set yrange [n - 0.5:-0.5]
set lmargin 34
set arrow 1 from 0, graph 0 to 0, graph 1 nohead linewidth 2 linecolor rgb "#888888"
set key off
set grid xtics noytics
plot pairs using (100*$9):0:(100*$11):(100*$12):yticlabels(strcol(2)[1:40]) with xerrorbars linewidth 3 pointtype 7 pointsize 1.4 linecolor rgb dark, \
     "" using (100*$9):0:(strcol(17)) with labels offset 0,1.3 textcolor rgb orange noenhanced
