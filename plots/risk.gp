# risk.gp: chance of having run short by a date. Reads weeks.csv.
load system("dirname '".ARG0."'")."/common.gp"
if (count("weeks.csv", "1") == 0) exit
load here."/time.gp"
set output picture("risk")
set label 1 two_lines("Chance of having run short, by date")
set yrange [0:100]
set format y "%.0f %%"
set ytics 0,20,100
set ylabel "chance of having run short by then"
set key top left Left reverse
plot rows("weeks.csv", covered("any")) using 3:(100*column(14)) with lines linewidth 5 linecolor rgb middle \
    title "either of them", \
     rows("weeks.csv", covered("beans")) using 3:(100*column(14)) with lines linewidth 3 dashtype 2 \
         linecolor rgb orange title "dry beans", \
     rows("weeks.csv", covered("squash")) using 3:(100*column(14)) with lines linewidth 3 dashtype 4 \
         linecolor rgb dark title "winter squash"
