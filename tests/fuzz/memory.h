/* memory.h: files that are only in memory. Linked with ld --wrap=base_read_file, the program's one gate of reading files: a path
 * that was laid down is read from there, every other one from the disk. */
#ifndef TIDEOVER_FUZZ_MEMORY_H
#define TIDEOVER_FUZZ_MEMORY_H

#include <stddef.h>
#include <stdint.h>

enum { FUZZ_MOST_FILES = 3 };

/* Lays the bytes down as the files at these paths (at most FUZZ_MOST_FILES), one after the other where a byte FUZZ_NEXT_FILE
 * parts them; files past the last part are not laid down. Paths and bytes must live until the next call. */
enum { FUZZ_NEXT_FILE = 0x1e };
void fuzz_lay(const uint8_t *data, size_t size, const char *const *paths, int n);

/* Any bytes, as libFuzzer and afl-clang-fast call it. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
