/* notebook_fuzz.c: any bytes as a grower's notebook. What is refused is refused with words. */
#include "memory.h"

#include "records/records.h"

#include <stdlib.h>

static const char *const path[] = { "notebook.csv" };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    fuzz_lay(data, size, path, 1);
    const struct records_notebook *notebook = records_read_notebook(&arena, path[0], &complaints);
    if (!notebook == !complaints.errors)
        abort(); /* refused without a word, or taken with complaints */
    for (int i = 0; notebook && i < notebook->n; i++)
        if (!notebook->note[i].crop || !(notebook->note[i].seen.low <= notebook->note[i].seen.high))
            abort();
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return 0;
}
