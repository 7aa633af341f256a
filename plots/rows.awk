# rows.awk: a CSV of either dialect as plain rows of comma and point without the header; commas within cells become spaces.
NR == 1 { separator = index($0, ";") ? ";" : ","; next }
{
    sub(/\r$/, "")
    out = ""
    quoted = 0
    n = length($0)
    for (i = 1; i <= n; i++) {
        ch = substr($0, i, 1)
        if (ch == "\"") { quoted = !quoted; continue }
        if (ch == separator && !quoted) { out = out ","; continue }
        if (ch == ",") ch = quoted ? " " : "."
        out = out ch
    }
    print out
}
