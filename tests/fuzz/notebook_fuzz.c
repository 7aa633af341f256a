/* notebook_fuzz.c: any bytes as a grower's notebook. What is refused is refused with words.
 * clang -fsanitize=fuzzer,address,undefined. */
#include <stdlib.h>
#include <unistd.h>

#include "records/records.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[] = "/tmp/tideover-fuzz-XXXXXX";
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    int file = mkstemp(path);
    if (file < 0 || write(file, data, size) != (ssize_t)size || close(file) != 0)
        abort();
    const struct records_notebook *notebook = records_read_notebook(&arena, path, &complaints);
    if (!notebook == !complaints.errors)
        abort(); /* refused without a word, or taken with complaints */
    for (int i = 0; notebook && i < notebook->n; i++)
        if (!notebook->note[i].crop)
            abort();
    unlink(path);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return 0;
}
