/* scan.c: one file, token by token, checked and written out clean. What libconfig 1.5 would silently misread, or
 * would report far from where it is, is caught here: open comments and strings, brackets that do not match,
 * numbers out of range, words without quotes. Also written `(` for `[`, so that 1 and 2.5 may share an array. */
#include "scenario/inside.h"

#include <string.h>
#include <strings.h>

/* The token before the one at hand. */
enum before { START, NAME, VALUE, ASSIGN, COMMA, END };

struct open_bracket { char closing; int line; };

struct scanner {
    struct scenario_reading *reading;
    const struct scenario_source *source;
    struct scenario_text *text;
    const char *at;
    int line;
    bool line_begins;             /* nothing but blanks so far */
    enum before before;
    struct open_bracket open[SCENARIO_MOST_DEPTH];
    int open_n;
    bool wrong;
    bool stop;                    /* no sense in reading on */
};

static void complain(struct scanner *scanner, int line, const char *words, const char *got, size_t n)
{
    const struct scenario_source *source = scanner->source;
    scanner->wrong = true;
    if (got != NULL) {
        base_complain(scanner->reading->complaints, BASE_ERROR, source->file, line, source->setting, "%s (got %.*s)",
                      words, (int)(n < 60 ? n : 60), got);
    } else {
        base_complain(scanner->reading->complaints, BASE_ERROR, source->file, line, source->setting, "%s", words);
    }
}

static void stop_with(struct scanner *scanner, int line, const char *words)
{
    complain(scanner, line, words, NULL, 0);
    scanner->stop = true;
}

static void emit(struct scanner *scanner, const char *bytes, size_t n)
{
    if (!scenario_text_add(scanner->reading, scanner->text, bytes, n) ||
        !scenario_text_add(scanner->reading, scanner->text, " ", 1)) {
        scanner->stop = true;
    }
    if (scanner->text->size > SCENARIO_MOST_BYTES) {
        stop_with(scanner, scanner->line, "the scenario with all it includes is too large (at most 4 MiB)");
    }
}

/* Passes one end of line: LF, CR LF, or a lone CR. */
static void newline(struct scanner *scanner)
{
    scanner->at += scanner->at[0] == '\r' && scanner->at[1] == '\n' ? 2 : 1;
    scanner->line += scanner->source->file != NULL;
    scanner->line_begins = true;
    if (!scenario_text_newline(scanner->reading, scanner->text, scanner->source->file, scanner->line)) {
        scanner->stop = true;
    }
}

static bool ends_line(char c)
{
    return c == '\n' || c == '\r' || c == '\0';
}

static void skip_line(struct scanner *scanner)
{
    while (!ends_line(*scanner->at)) {
        scanner->at++;
    }
}

static void block_comment(struct scanner *scanner)
{
    int from = scanner->line;
    scanner->at += 2;
    while (scanner->at[0] != '\0' && !(scanner->at[0] == '*' && scanner->at[1] == '/')) {
        if (ends_line(*scanner->at)) {
            newline(scanner);
        } else {
            scanner->at++;
        }
    }
    if (*scanner->at == '\0') {
        stop_with(scanner, from, "the comment that begins here with /* is never closed");
        return;
    }
    scanner->at += 2;
}

static bool is_name_start(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '*';
}

static bool is_name_part(char c)
{
    return is_name_start(c) || (c >= '0' && c <= '9') || c == '-' || c == '_';
}

static bool in_list(const struct scanner *scanner)
{
    return scanner->open_n > 0 && scanner->open[scanner->open_n - 1].closing != '}';
}

static bool wants_value(const struct scanner *scanner)
{
    return scanner->before == ASSIGN || in_list(scanner);
}

/* After the text at hand, blanks and line ends passed over: is it = or :? */
static bool is_assigned(const char *at)
{
    at += strspn(at, " \t\r\n");
    return *at == '=' || *at == ':';
}

/* True when the n bytes are one of the |-separated words. */
static bool is_one_of(const char *word, size_t n, const char *words)
{
    while (*words != '\0') {
        size_t m = strcspn(words, "|");
        if (m == n && strncasecmp(word, words, n) == 0) {
            return true;
        }
        words += m + (words[m] == '|');
    }
    return false;
}

static void bare_value(struct scanner *scanner, const char *word, size_t n)
{
    if ((n == 4 && memcmp(word, "true", 4) == 0) || (n == 5 && memcmp(word, "false", 5) == 0)) {
        scanner->before = VALUE;
    } else if (scanner->before == ASSIGN && !in_list(scanner) && is_assigned(word + n)) {
        complain(scanner, scanner->line, "a value is missing before this setting", word, n);
        scanner->before = NAME;
    } else {
        const char *words = "a word stands in quotes";
        if (is_one_of(word, n, "true|false|yes|no|on|off")) {
            words = "a switch is written true or false";
        } else if (is_one_of(word, n, "inf|infinity|nan")) {
            words = "a number must be finite";
        }
        complain(scanner, scanner->line, words, word, n);
        scanner->before = VALUE;
    }
}

static void word(struct scanner *scanner)
{
    const char *from = scanner->at;
    while (is_name_part(*scanner->at)) {
        scanner->at++;
    }
    size_t n = (size_t)(scanner->at - from);
    if (wants_value(scanner)) {
        bare_value(scanner, from, n);
    } else {
        if (n > SCENARIO_MOST_NAME - 1) {
            complain(scanner, scanner->line, "a name has at most 63 characters", from, n);
        }
        scanner->before = NAME;
    }
    emit(scanner, from, n);
}

static bool is_number_part(char c)
{
    return is_name_part(c) || c == '+' || c == '.';
}

static void number(struct scanner *scanner)
{
    const char *from = scanner->at;
    char clean[64];
    while (is_number_part(*scanner->at)) {
        scanner->at++;
    }
    size_t n = (size_t)(scanner->at - from);
    const char *why = scenario_number(from, n, clean);
    if (why != NULL) {
        const char *words = scenario_print(scanner->reading, "what stands here %s", why);
        complain(scanner, scanner->line, words, from, n);
    } else if (!wants_value(scanner)) {
        complain(scanner, scanner->line, "a number stands where a name should (is the decimal point a comma?)", from,
                 n);
    } else {
        emit(scanner, clean, strlen(clean));
    }
    scanner->before = VALUE;
}

static void string(struct scanner *scanner)
{
    const char *from = scanner->at++;
    while (*scanner->at != '"') {
        if (ends_line(*scanner->at)) {
            complain(scanner, scanner->line, "the text that begins here is not closed on its line", from,
                     (size_t)(scanner->at - from));
            scanner->before = VALUE;
            return;
        }
        size_t n = scenario_character(scanner->at);
        if (n == 0) {
            complain(scanner, scanner->line, "text is not UTF-8 or has a control character in it", NULL, 0);
            n = 1;
        }
        if (*scanner->at == '\\') {
            if (scanner->at[1] != '\\' && scanner->at[1] != '"') {
                complain(scanner, scanner->line, "in text, \\ may only stand before \\ or a quote", NULL, 0);
            } else {
                n = 2;
            }
        }
        scanner->at += n;
    }
    scanner->at++;
    if (!wants_value(scanner) && scanner->before != VALUE) {
        complain(scanner, scanner->line, scanner->before == NAME ? "= is missing before this text"
                                                                 : "text stands where a name should",
                 from, (size_t)(scanner->at - from));
    }
    emit(scanner, from, (size_t)(scanner->at - from));
    scanner->before = VALUE;
}

static void open_bracket(struct scanner *scanner)
{
    char c = *scanner->at++;
    if (scanner->source->brackets + scanner->open_n >= SCENARIO_MOST_DEPTH) {
        stop_with(scanner, scanner->line, "brackets are nested too deep (at most 32)");
        return;
    }
    if (!wants_value(scanner)) {
        complain(scanner, scanner->line, scanner->before == NAME ? "= is missing before this bracket"
                                                                 : "a bracket stands where a name should",
                 &c, 1);
    }
    char closing = c == '{' ? '}' : c == '[' ? ']' : ')';
    scanner->open[scanner->open_n++] = (struct open_bracket){closing, scanner->line};
    scanner->before = START;
    emit(scanner, c == '[' ? "(" : &c, 1);
}

static void close_bracket(struct scanner *scanner)
{
    char c = *scanner->at++;
    if (scanner->open_n == 0) {
        stop_with(scanner, scanner->line, scenario_print(scanner->reading, "%c closes nothing", c));
        return;
    }
    struct open_bracket *open = &scanner->open[--scanner->open_n];
    if (open->closing != c) {
        stop_with(scanner, scanner->line,
                  scanner->source->file != NULL
                      ? scenario_print(scanner->reading, "the bracket of line %d must be closed with %c (got %c)",
                                       open->line, open->closing, c)
                      : scenario_print(scanner->reading, "the bracket must be closed with %c (got %c)", open->closing,
                                       c));
        return;
    }
    if (c != '}' && scanner->before == COMMA) {
        complain(scanner, scanner->line, "nothing stands between the last comma and the bracket", &c, 1);
    }
    if (c == '}' && (scanner->before == ASSIGN || scanner->before == NAME)) {
        complain(scanner, scanner->line, "a value is missing before the bracket", &c, 1);
    }
    scanner->before = VALUE;
    emit(scanner, c == ']' ? ")" : &c, 1);
}

static void assign(struct scanner *scanner)
{
    if (scanner->before != NAME) {
        complain(scanner, scanner->line, "a name is missing before this", scanner->at, 1);
    }
    if (++scanner->text->settings > SCENARIO_MOST_SETTINGS) {
        stop_with(scanner, scanner->line, "there are too many settings (at most 10000)");
    }
    scanner->before = ASSIGN;
    emit(scanner, scanner->at++, 1);
}

static void separator(struct scanner *scanner)
{
    if (scanner->before == ASSIGN || scanner->before == NAME) {
        complain(scanner, scanner->line, "a value is missing before this", scanner->at, 1);
    }
    scanner->before = *scanner->at == ',' ? COMMA : END;
    emit(scanner, scanner->at++, 1);
}

static void include(struct scanner *scanner)
{
    static const char directive[] = "@include";
    size_t n = sizeof directive - 1;
    bool known = strncmp(scanner->at, directive, n) == 0 && scanner->line_begins && scanner->source->file != NULL;
    const char *from = scanner->at + n + (known ? strspn(scanner->at + n, " \t") : 0);
    if (!known || *from != '"') {
        complain(scanner, scanner->line, "@include \"FILE\" stands alone on its line in a file", NULL, 0);
        skip_line(scanner);
        return;
    }
    size_t length = strcspn(++from, "\"\r\n");
    const char *rest = from + length + (from[length] == '"');
    rest += strspn(rest, " \t");
    bool alone = ends_line(*rest) || *rest == '#' || (rest[0] == '/' && rest[1] == '/');
    if (from[length] != '"' || !alone) {
        complain(scanner, scanner->line, "@include \"FILE\" stands alone on its line in a file", NULL, 0);
    } else {
        const char *name = scenario_print(scanner->reading, "%.*s", (int)length, from);
        int brackets = scanner->source->brackets + scanner->open_n;
        if (!scenario_text_include(scanner->reading, scanner->source, scanner->line, brackets, name, scanner->text)) {
            scanner->wrong = true;
        }
    }
    skip_line(scanner);
}

static void stray(struct scanner *scanner)
{
    const char *from = scanner->at;
    size_t n = scenario_character(from);
    scanner->at += n > 0 ? n : 1;
    if (n > 1) {
        complain(scanner, scanner->line, "this character has no place outside quotes (are the quotes straight?)", from,
                 n);
    } else {
        complain(scanner, scanner->line, "a character that has no place outside quotes", n == 1 ? from : NULL, n);
    }
}

static void token(struct scanner *scanner)
{
    char c = *scanner->at;
    if (c == '"') {
        string(scanner);
    } else if (is_name_start(c)) {
        word(scanner);
    } else if ((c >= '0' && c <= '9') || c == '.' || c == '+' || c == '-') {
        number(scanner);
    } else if (c == '{' || c == '[' || c == '(') {
        open_bracket(scanner);
    } else if (c == '}' || c == ']' || c == ')') {
        close_bracket(scanner);
    } else if (c == '=' || c == ':') {
        assign(scanner);
    } else if (c == ';' || c == ',') {
        separator(scanner);
    } else if (c == '@') {
        include(scanner);
    } else {
        stray(scanner);
    }
    scanner->line_begins = false;
    if (scanner->before == VALUE && ++scanner->text->values > SCENARIO_MOST_VALUES) {
        stop_with(scanner, scanner->line, "there are too many values (at most 200000)");
    }
}

static void step(struct scanner *scanner)
{
    const char *at = scanner->at;
    if (*at == ' ' || *at == '\t' || *at == '\f') {
        scanner->at++;
    } else if (ends_line(*at)) {
        newline(scanner);
    } else if (at[0] == '#' || (at[0] == '/' && at[1] == '/')) {
        skip_line(scanner);
    } else if (at[0] == '/' && at[1] == '*') {
        block_comment(scanner);
    } else {
        token(scanner);
    }
}

bool scenario_scan(struct scenario_reading *reading, const struct scenario_source *source, struct scenario_text *text)
{
    struct scanner scanner = {.reading = reading, .source = source, .text = text, .at = source->bytes,
                              .line = source->file != NULL, .line_begins = true, .before = START};
    while (*scanner.at != '\0' && !scanner.stop) {
        step(&scanner);
    }
    if (!scanner.stop && scanner.open_n > 0) {
        const struct open_bracket *open = &scanner.open[scanner.open_n - 1];
        complain(&scanner, open->line,
                 scenario_print(reading, "the bracket that begins here is never closed with %c", open->closing), NULL,
                 0);
    } else if (!scanner.stop && (scanner.before == ASSIGN || scanner.before == NAME)) {
        complain(&scanner, scanner.line, "a value is missing at the end", NULL, 0);
    }
    return !scanner.wrong && !scanner.stop && !reading->out_of_memory;
}
