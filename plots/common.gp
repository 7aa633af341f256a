# common.gp: what all pictures share. A picture's script reads only CSV files of one output directory:
#   gnuplot -e "dir='out/demo'; form='svg'" -c plots/stores.gp      (form: svg or png; default svg)
# and writes dir/NAME.svg or dir/NAME.png. Both dialects of CSV are read: comma and point, semicolon and decimal comma.
# A table without rows for a picture gives no picture.
here = system("dirname '".ARG0."'")
if (!exists("dir")) dir = "out"
if (!exists("form")) form = "svg"
if (form eq "png") set terminal pngcairo size 1000,700 font "sans,12" background "white"
if (form eq "svg") set terminal svg size 1000,700 font "sans,14" background "white"
picture(name) = sprintf("%s/%s.%s", dir, name, form)

# A file of the directory as rows of comma and point that satisfy an awk condition on the cells c[1], c[2], ...; cells in quotation
# marks lose their commas. Its condition may keep state from row to row.
awk_of(file, program) = sprintf("awk -f '%s/rows.awk' '%s/%s' | awk -F, '{ split($0, c, \",\") } %s'", \
    here, dir, file, program)
rows(file, condition) = "< ".awk_of(file, "{ if (".condition.") print }")
# Answers of awk about a table: how many rows, the greatest cell, a list of different cells.
count(file, condition) = system(awk_of(file, "{ n += (".condition.") } END { print n + 0 }")) + 0
most(file, condition, cell) = system(awk_of(file, \
    "{ if ((".condition.") && ".cell." + 0 > m) m = ".cell." + 0 } END { print m + 0 }")) + 0
different(file, condition, cell) = system(awk_of(file, \
    "{ if ((".condition.") && !seen[".cell."]++) print ".cell." }"))
# A heading of the table.
column_name(file, i) = system(sprintf("head -n 1 '%s/%s' | tr -d '\"\\r' | tr ';' ',' | cut -d, -f%d", dir, \
    file, i))

# The scenario's title, from the data package, wrapped; on the page's middle whatever the margins are.
title_text = \
    system(sprintf("sed -n 's/^  \"title\": \"\\(.*\\)\",$/\\1/p' '%s/datapackage.json' | head -n 1 | sed 's/\\\\\\(.\\)/\\1/g' | fold -s -w 100 | head -n 2", dir))
two_lines(text) = text."\n".title_text
set label 1 at screen 0.5, screen 0.97 center
set tmargin at screen 0.87

set termoption noenhanced
set datafile separator ","
set style fill solid 1.0 noborder
set border 3 linewidth 1
set tics nomirror out
set grid ytics linecolor rgb "#bbbbbb" linewidth 1
set key top right

# Colours that stay apart for colour-blind eyes and in grey: light, middle and dark of one hue, and an orange (Okabe and
# Ito 2008, "Color Universal Design"); lines differ by dash as well, points by shape.
light = "#c6dbef"; middle = "#6baed6"; dark = "#08306b"; orange = "#d55e00"; green = "#238b45"
