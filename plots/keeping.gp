# keeping.gp: how squash kept: the records' own curve (Kaplan-Meier, Turnbull) and the fitted. Reads keeping.csv.
load system("dirname '".ARG0."'")."/common.gp"
kept = "c[1] \"|\" c[2] \"|\" c[3]"
groups_of = system(awk_of("keeping.csv", "{ k = ".kept."; gsub(/ /, \"_\", k); if (!seen[k]++) print k }"))
n = words(groups_of)
if (n == 0) exit
set output picture("keeping")
across = n == 1 ? 1 : n <= 4 ? 2 : 3
down = (n + across - 1) / across
member(i) = "{ k = ".kept."; gsub(/ /, \"_\", k); if (k == \"".word(groups_of, i)."\") print }"
cell(text, i) = system("printf '%s' '".text."' | cut -d'|' -f".i." | tr '_' ' '")
panel(text) = cell(text, 1).(strlen(cell(text, 2)) ? ", ".cell(text, 2) : "").", ".(cell(text, 3) eq "all" \
    ? "all cures" : "cured ".cell(text, 3))
longest = most("keeping.csv", "1", "c[5]")
set multiplot
set label 1 two_lines("How squash kept: own records and fitted curves")
set xrange [0:(1.05 * longest + 0.1)]
set yrange [0:105]
set ytics 0,25,100
set ylabel "still sound (%)"
do for [i=1:n] {
  column_at = (i - 1) % across
  row_at = (i - 1) / across
  wide = 0.93 / across
  high = 0.78 / down
  set lmargin at screen 0.03 + column_at * wide + 0.05
  set rmargin at screen 0.03 + (column_at + 1) * wide
  set tmargin at screen 0.84 - row_at * high
  set bmargin at screen 0.84 - (row_at + 1) * high + 0.095
  set label 2 panel(word(groups_of, i)) at graph 0.5, graph 1.04 center font ",10"
  if (i + across > n) { set xlabel "weeks since cutting" offset 0,0.5 } else { unset xlabel }
  if (i == 1) { set key at screen 0.5, screen 0.905 center top maxrows 1 samplen 2 } else { set key off; \
      unset label 1 }
  own = "< ".awk_of("keeping.csv", member(i))
  plot own using 5:(100*$6) with steps linewidth 2 linecolor rgb middle title "own records", \
       own using 5:(100*$6):4:5 with xerrorbars pointtype 7 pointsize 0.7 linewidth 1 linecolor rgb middle \
           title "found soft within", \
       own using 5:(100*$9) with lines linewidth 3 linecolor rgb dark title "Weibull", \
       own using 5:(100*$10) with lines linewidth 3 dashtype 2 linecolor rgb orange title "lognormal"
}
unset multiplot
