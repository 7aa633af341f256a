# side.gp: scenarios side by side on the same luck. Reads compare.csv.
load system("dirname '".ARG0."'")."/common.gp"
year = count("compare.csv", "c[3] == \"all\"") > 0 ? "all" : "1"
judged = sprintf("c[3] == \"%s\" && c[5] == \"chance_short\" && c[4] == \"any\"", year)
n = count("compare.csv", judged)
if (n == 0) exit
set output picture("side")
longest = most("compare.csv", judged, "length(c[2])")
short(text) = strlen(text) > 44 ? text[1:43]."..." : text
set label 1 two_lines("Scenarios side by side, on the same luck, against ".system(awk_of("compare.csv", \
    "NR == 1 { print c[1] }")).":")
set xlabel \
    "change of the chance of running short of either food, percentage points (95 % ranges; left is better)"
set xlabel offset -8,0
set yrange [n - 0.5:-0.5]
set lmargin at screen 0.04 + 0.0092 * (longest > 46 ? 46 : longest)
set arrow 1 from 0, graph 0 to 0, graph 1 nohead linewidth 2 linecolor rgb "#888888"
set key off
set grid xtics noytics
set offsets graph 0.06, graph 0.06, 0, 0
plot rows("compare.csv", judged) using (100*$9):0:(100*$11):(100*$12):yticlabels(short(strcol(2))) with \
    xerrorbars linewidth 3 pointtype 7 pointsize 1.4 linecolor rgb dark, \
     "" using (100*$9):0:(strcol(17)) with labels offset 0,1.3 textcolor rgb orange
