# risk.gp: chance of having run short by a date. Reads weeks.csv.
load system("dirname '".ARG0."'")."/common.gp"
set output picture("risk")
set xdata time
set timefmt "%Y-%m-%d"
set format x "%b\n%Y"
set xtics 5259492
set yrange [0:1]
set format y "%.0f %%"
set ytics 0,20,100
set yrange [0:100]
set ylabel "chance of having run short by then"
set title two_lines("Chance of having run short, by date")
set key top left
plot rows("weeks.csv", covered("any")) using 3:(100*column(14)) with lines linewidth 4 linecolor rgb dark title "either of them", \
     rows("weeks.csv", covered("beans")) using 3:(100*column(14)) with lines linewidth 2 dashtype 2 linecolor rgb orange title "dry beans", \
     rows("weeks.csv", covered("squash")) using 3:(100*column(14)) with lines linewidth 2 dashtype 4 linecolor rgb "#009e73" title "winter squash"
