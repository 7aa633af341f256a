# gain.gp: what each further step of a setting buys: chance of running short by rung, with its 95 % range. Reads vary.csv.
load system("dirname '".ARG0."'")."/common.gp"
set output picture("gain")
setting = system(sprintf("awk -f '%s/rows.awk' '%s/vary.csv' | awk -F, 'NR == 1 { print $1 }'", here, dir))
rungs = rows("vary.csv", "c[5] == 1 && c[7] == \"chance_short\" && c[6] == \"any\" && c[4] == \"\"")
set title two_lines("What each further step buys")
set xlabel setting noenhanced
set ylabel "chance of running short of either food (%)"
set yrange [0:*]
set xtics rotate by -30
set offsets 0.5, 0.5, 0, 0
plot rungs using 0:(100*$9):xticlabels(2) with lines linewidth 2 linecolor rgb middle notitle, \
     "" using 0:(100*$9):(100*$11):(100*$12) with yerrorbars linewidth 2 pointtype 7 pointsize 1.2 linecolor rgb dark title "chance, 95 % range of the simulation", \
     "" using 0:(100*$9):(strlen(strcol(13)) > 0 ? sprintf("%+.1f", 100*column(13)) : "") with labels offset 0,1.4 textcolor rgb orange title "change by this step (points)"
