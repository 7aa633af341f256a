/* scan.c: one file, token by token, checked and written out clean. What libconfig 1.5 would silently
 * misread, or would report far from where it is, is caught here: open comments and strings, brackets that
 * do not match, numbers out of range, words without quotes. Also written `(` for `[`, so that 1 and 2.5
 * may share an array. */
#include "scenario/inside.h"

#include <string.h>
#include <strings.h>

/* The token before the one at hand; START is the beginning of a file or bracket. */
enum before { START, NAME, ASSIGN, VALUE, TEXT, COMMA, SEMICOLON };

struct open_bracket { char closing; int line; };

struct scanner {
    struct scenario_reading *reading;
    const struct scenario_source *source;
    struct scenario_text *text;
    const char *at;
    int line;
    int token_line;               /* of the last token */
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
        base_complain(scanner->reading->complaints, BASE_ERROR, source->file, line, source->setting,
                      "%s (got %.*s)", words, (int)scenario_shown_bytes(got, n, 60), got);
    } else {
        base_complain(scanner->reading->complaints, BASE_ERROR, source->file, line, source->setting, "%s",
                      words);
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

/* What is wrong with a value, text or open bracket at this place; NULL when nothing is. */
static const char *misplaced_value(const struct scanner *scanner, enum before token)
{
    bool after_value = scanner->before == VALUE || scanner->before == TEXT;
    if (token == TEXT && scanner->before == TEXT) {
        return NULL; /* texts side by side are one text */
    }
    if (in_list(scanner)) {
        return after_value ? "a comma is missing before this" : NULL;
    }
    if (scanner->before == ASSIGN) {
        return NULL;
    }
    if (scanner->before == NAME) {
        return "= is missing before this";
    }
    return scanner->before == COMMA ? "a value stands where a name should (is the decimal point a comma?)"
                                    : "a value stands where a name should";
}

/* What is wrong with a token at this place; NULL when nothing is. libconfig would say no more than "syntax
 * error", on a later line, and leaks memory where it does. */
static const char *misplaced(const struct scanner *scanner, enum before token)
{
    bool after_value = scanner->before == VALUE || scanner->before == TEXT;
    switch (token) {
    case NAME:
        return scanner->before == NAME ? "= is missing before this" : NULL;
    case ASSIGN:
        return scanner->before != NAME ? "a name is missing before this" : NULL;
    case VALUE:
    case TEXT:
        return misplaced_value(scanner, token);
    case COMMA:
    case SEMICOLON:
        if (token == SEMICOLON && in_list(scanner)) {
            return "a list is separated by commas";
        }
        return !after_value ? "a value is missing before this" : NULL;
    case START:
        break;
    }
    return NULL;
}

/* Complains when the token may not stand here, and moves on. */
static void place(struct scanner *scanner, enum before token, const char *from, size_t n)
{
    const char *why = misplaced(scanner, token);
    if (why != NULL) {
        complain(scanner, scanner->line, why, from, n);
    }
    scanner->before = token;
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

/* A word where a value should be. */
static void bare_value(struct scanner *scanner, const char *word, size_t n)
{
    bool truth = (n == 4 && memcmp(word, "true", 4) == 0) || (n == 5 && memcmp(word, "false", 5) == 0);
    const char *words = "a word stands in quotes";
    if (!truth && scanner->before == ASSIGN && is_assigned(word + n)) {
        complain(scanner, scanner->line, "a value is missing before this setting", word, n);
        scanner->before = NAME;
        return;
    }
    if (is_one_of(word, n, "true|false|yes|no|on|off")) {
        words = "a switch is written true or false";
    } else if (is_one_of(word, n, "inf|infinity|nan")) {
        words = "a number must be finite";
    }
    if (!truth) {
        complain(scanner, scanner->line, words, word, n);
    }
    place(scanner, VALUE, word, n);
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
        } else if (is_one_of(from, n, "true|false")) {
            complain(scanner, scanner->line, "no setting can have this name", from, n);
        }
        place(scanner, NAME, from, n);
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
        scanner->before = VALUE;
        return;
    }
    place(scanner, VALUE, from, n);
    emit(scanner, clean, strlen(clean));
}

static void string(struct scanner *scanner)
{
    const char *from = scanner->at++;
    while (*scanner->at != '"') {
        if (ends_line(*scanner->at)) {
            complain(scanner, scanner->line, "the text that begins here is not closed on its line", from,
                     (size_t)(scanner->at - from));
            scanner->before = TEXT;
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
    place(scanner, TEXT, from, (size_t)(scanner->at - from));
    emit(scanner, from, (size_t)(scanner->at - from));
}

static void open_bracket(struct scanner *scanner)
{
    char c = *scanner->at++;
    if (scanner->source->brackets + scanner->open_n >= SCENARIO_MOST_DEPTH) {
        stop_with(scanner, scanner->line, "brackets are nested too deep (at most 32)");
        return;
    }
    place(scanner, VALUE, &c, 1);
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
                      ? scenario_print(scanner->reading,
                                       "the bracket of line %d must be closed with %c (got %c)", open->line,
                                       open->closing, c)
                      : scenario_print(scanner->reading, "the bracket must be closed with %c (got %c)",
                                       open->closing, c));
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
    place(scanner, ASSIGN, scanner->at, 1);
    if (++scanner->text->settings > SCENARIO_MOST_SETTINGS) {
        stop_with(scanner, scanner->line, "there are too many settings (at most 10000)");
    }
    emit(scanner, scanner->at++, 1);
}

static void separator(struct scanner *scanner)
{
    place(scanner, *scanner->at == ',' ? COMMA : SEMICOLON, scanner->at, 1);
    emit(scanner, scanner->at++, 1);
}

/* The name after @include, when it stands alone on a line of a file; NULL when it does not. */
static const char *include_name(const struct scanner *scanner)
{
    static const char directive[] = "@include";
    size_t n = sizeof directive - 1;
    if (strncmp(scanner->at, directive, n) != 0 || !scanner->line_begins || scanner->source->file == NULL) {
        return NULL;
    }
    const char *from = scanner->at + n;
    from += strspn(from, " \t");
    size_t length = *from == '"' ? strcspn(from + 1, "\"\r\n") : 0;
    if (*from != '"' || from[1 + length] != '"') {
        return NULL;
    }
    const char *rest = from + length + 2;
    rest += strspn(rest, " \t");
    bool alone = ends_line(*rest) || *rest == '#' || (rest[0] == '/' && rest[1] == '/');
    return alone ? scenario_print(scanner->reading, "%.*s", (int)length, from + 1) : NULL;
}

static void include(struct scanner *scanner)
{
    const char *name = include_name(scanner);
    int brackets = scanner->source->brackets + scanner->open_n;
    if (name == NULL) {
        complain(scanner, scanner->line, "@include \"FILE\" stands alone on its line in a file", NULL, 0);
    } else if (wants_value(scanner) || scanner->before == NAME) {
        complain(scanner, scanner->line, "@include stands between settings", NULL, 0);
    } else {
        if (!scenario_text_include(scanner->reading, scanner->source, scanner->line, brackets, name,
                                   scanner->text)) {
            scanner->wrong = true;
        }
        scanner->before = START; /* what follows begins anew */
    }
    skip_line(scanner);
}

static void stray(struct scanner *scanner)
{
    const char *from = scanner->at;
    size_t n = scenario_character(from);
    scanner->at += n > 0 ? n : 1;
    if (n > 1) {
        complain(scanner, scanner->line,
                 "this character has no place outside quotes (are the quotes straight?)", from, n);
    } else {
        complain(scanner, scanner->line, "a character that has no place outside quotes", n == 1 ? from : NULL,
                 n);
    }
}

static void token(struct scanner *scanner)
{
    char c = *scanner->at;
    scanner->token_line = scanner->line;
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
    bool value = scanner->before == VALUE || scanner->before == TEXT;
    if (value && ++scanner->text->values > SCENARIO_MOST_VALUES) {
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

bool scenario_scan(struct scenario_reading *reading, const struct scenario_source *source,
                   struct scenario_text *text)
{
    struct scanner scanner = {.reading = reading, .source = source, .text = text, .at = source->bytes,
                              .line = source->file != NULL, .line_begins = true, .before = START};
    while (*scanner.at != '\0' && !scanner.stop) {
        step(&scanner);
    }
    if (!scanner.stop && scanner.open_n > 0) {
        const struct open_bracket *open = &scanner.open[scanner.open_n - 1];
        complain(
            &scanner, open->line,
            scenario_print(reading, "the bracket that begins here is never closed with %c", open->closing),
            NULL, 0);
    } else if (!scanner.stop && (scanner.before == ASSIGN || scanner.before == NAME)) {
        complain(&scanner, scanner.token_line, "a value is missing at the end", NULL, 0);
    }
    return !scanner.wrong && !scanner.stop && !reading->out_of_memory;
}
