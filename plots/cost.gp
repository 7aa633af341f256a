# cost.gp: what a lower risk costs. Reads size.csv.
load system("dirname '".ARG0."'")."/common.gp"
if (count("size.csv", "c[3] != \"\"") == 0) exit
set output picture("cost")
set label 1 two_lines("What a lower risk costs: the cheapest combination that keeps to it")
set xlabel "chance of running short that is allowed (%)"
set ylabel "cost: bed (m2), hours or money as asked; else steps up"
set logscale x
set xtics (50, 30, 20, 15, 10, 5, 2, 1)
set xrange [0.8:250]
set yrange [0:(1.1 * most("size.csv", "c[3] != \"\"", "c[3]") + 0.5)]
set key off
short(text) = system("echo '".text."' | sed 's/plantings[.]//g; s/[.]count//g'")
plot rows("size.csv", "c[3] != \"\"") using (100*$1):3 with linespoints linewidth 3 pointtype 7 pointsize \
    1.4 linecolor rgb dark, \
     rows("size.csv", "c[3] != \"\" && c[2] != before && (before = c[2]) != \"\"") using (100*$1):3:(short(strcol(2))) with labels left offset 1.2,0.5 textcolor rgb orange
