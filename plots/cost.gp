# cost.gp: what a lower risk costs. Reads size.csv.
load system("dirname '".ARG0."'")."/common.gp"
set output picture("cost")
set title two_lines("What a lower risk costs")
set xlabel "chance of running short that is allowed (%)"
set ylabel "cost of the cheapest combination"
set logscale x
set xtics (50, 30, 20, 15, 10, 5, 2, 1)
set xrange [0.8:60]
set yrange [0:*]
set offsets graph 0, graph 0, graph 0.1, graph 0
set key bottom left
short(text) = system("echo '".text."' | sed 's/plantings[.]//g; s/[.]count//g'")
plot rows("size.csv", "c[3] != \"\"") using (100*$1):3 with linespoints linewidth 3 pointtype 7 pointsize 1.4 linecolor rgb dark title "cheapest on this grid", \
     "" using (100*$1):3:(short(strcol(2))) with labels right offset -1,0.9 textcolor rgb orange noenhanced notitle
