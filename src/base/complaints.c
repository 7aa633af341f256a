/* complaints.c: what is wrong with the user's input, gathered and said at once. */
#include "base/base.h"

#include <stdarg.h>
#include <string.h>

struct base_complaint {
    struct base_complaint *next;
    enum base_severity severity;
    const char *file;      /* NULL: the command line */
    int line;
    const char *setting;   /* NULL: none */
    const char *text;
};

/* Longest text of one complaint, in bytes; what is beyond is cut off (a user's own string may be long). */
enum { MOST_TEXT = 1000 };

static void keep(struct base_complaints *all, struct base_complaint *one)
{
    if (all->last == NULL) {
        all->first = one;
    } else {
        all->last->next = one;
    }
    all->last = one;
    all->kept++;
}

void base_complain(struct base_complaints *all, enum base_severity severity, const char *file, int line,
                   const char *setting, const char *format, ...)
{
    if (severity == BASE_ERROR) {
        all->errors++;
    } else {
        all->warnings++;
    }
    if (all->kept >= BASE_COMPLAINTS_KEPT) {
        return;
    }
    char text[MOST_TEXT];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);

    struct base_complaint *one = base_arena_take(&all->arena, sizeof *one);
    if (one == NULL) {
        all->out_of_memory = true;
        return;
    }
    one->severity = severity;
    one->file = base_arena_text(&all->arena, file);
    one->line = line;
    one->setting = base_arena_text(&all->arena, setting);
    one->text = base_arena_text(&all->arena, text);
    if (one->text == NULL || (file != NULL && one->file == NULL) ||
        (setting != NULL && one->setting == NULL)) {
        all->out_of_memory = true;
        return;
    }
    keep(all, one);
}

/* Negative, zero or positive: by file (the command line first), then line. */
static int compare(const struct base_complaint *a, const struct base_complaint *b)
{
    if (a->file == NULL || b->file == NULL) {
        if (a->file != b->file) {
            return a->file == NULL ? -1 : 1;
        }
    } else {
        int files = strcmp(a->file, b->file);
        if (files != 0) {
            return files;
        }
    }
    return (a->line > b->line) - (a->line < b->line);
}

/* Stable insertion sort: there are at most BASE_COMPLAINTS_KEPT. */
static int sort(const struct base_complaints *all, const struct base_complaint *sorted[BASE_COMPLAINTS_KEPT])
{
    int n = 0;
    for (const struct base_complaint *one = all->first; one != NULL; one = one->next) {
        int at = n;
        while (at > 0 && compare(sorted[at - 1], one) > 0) {
            sorted[at] = sorted[at - 1];
            at--;
        }
        sorted[at] = one;
        n++;
    }
    return n;
}

void base_print_plain(const char *text, FILE *to)
{
    for (const unsigned char *c = (const unsigned char *)text; *c != '\0'; c++) {
        if (*c < 0x20 || *c == 0x7f) {
            fputc('?', to);
        } else if (*c == 0xc2 && c[1] >= 0x80 && c[1] <= 0x9f) {
            fputc('?', to);
            c++;
        } else {
            fputc(*c, to);
        }
    }
}

static void print_one(const struct base_complaint *one, FILE *to)
{
    base_print_plain(one->file != NULL ? one->file : "command line", to);
    if (one->line > 0) {
        fprintf(to, ":%d", one->line);
    }
    fputs(one->severity == BASE_WARNING ? ": warning: " : ": ", to);
    if (one->setting != NULL && one->setting[0] != '\0') {
        base_print_plain(one->setting, to);
        fputs(": ", to);
    }
    base_print_plain(one->text, to);
    fputc('\n', to);
}

void base_complaints_print(const struct base_complaints *all, FILE *to)
{
    const struct base_complaint *sorted[BASE_COMPLAINTS_KEPT];
    int n = sort(all, sorted);
    for (int i = 0; i < n; i++) {
        print_one(sorted[i], to);
    }
    int unsaid = all->errors + all->warnings - n;
    if (unsaid > 0) {
        fprintf(to, "and %d more\n", unsaid);
    }
    if (all->out_of_memory) {
        fputs("memory ran out while gathering these messages\n", to);
    }
}

void base_complaints_free(struct base_complaints *all)
{
    base_arena_free(&all->arena);
    *all = (struct base_complaints){0};
}
