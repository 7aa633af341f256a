# common.gp: what all pictures share. A picture's script reads only CSV files of one output directory:
#   gnuplot -e "dir='out/demo'; form='svg'" plots/stores.gp        (form: svg or png; default svg)
# and writes dir/NAME.svg or dir/NAME.png. Both dialects of CSV are read: comma and point, semicolon and decimal comma.
here = system("dirname '".ARG0."'")
if (!exists("dir")) dir = "out"
if (!exists("form")) form = "svg"
if (form eq "png") set terminal pngcairo size 1000,700 font "sans,12" background "white"
if (form eq "svg") set terminal svg size 1000,700 font "sans,14" background "white"
picture(name) = sprintf("%s/%s.%s", dir, name, form)

# A file of the directory as rows of comma and point that satisfy an awk condition on the cells c[1], c[2], ...; cells in quotation
# marks lose their commas.
# Its condition may keep state from row to row.
rows(file, condition) = sprintf("< awk -f '%s/rows.awk' '%s/%s' | awk -F, '{ split($0, c, \",\"); if (%s) print }'", here, dir, file, condition)

# The scenario's title, from the data package.
title_text = system(sprintf("sed -n 's/^  \"title\": \"\\(.*\\)\",$/\\1/p' '%s/datapackage.json' | head -n 1", dir))

set termoption noenhanced
set datafile separator ","
set style fill transparent solid 1.0 noborder
set title font ",11"
set border 3 linewidth 1
set tics nomirror out
set grid ytics linecolor rgb "#dddddd" linewidth 1
set key top right

# Colours that stay apart for colour-blind eyes and in grey: light, middle and dark of one hue, and an orange (Okabe and
# Ito 2008, "Color Universal Design"); lines differ by dash as well.
light = "#c6dbef"; middle = "#6baed6"; dark = "#08306b"; orange = "#d55e00"
# Weeks that less than half of the trials cover (early or late harvests) are left out of pictures over time.
half = system(sprintf("test -f '%s/weeks.csv' && awk -f '%s/rows.awk' '%s/weeks.csv' | awk -F, '$5 > m { m = $5 } END { print m / 2 }'", dir, here, dir))
covered(food) = sprintf("c[4] == \"%s\" && c[5] >= %s", food, half)
two_lines(text) = text."\n".title_text
