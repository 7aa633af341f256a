/* temporary.h: a file for the time of a test, in TMPDIR or /tmp. */
#ifndef TIDEOVER_TESTS_TEMPORARY_H
#define TIDEOVER_TESTS_TEMPORARY_H

#include "unit/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Makes a file with this text in it; `path` says where. The caller unlinks it. */
static inline void temporary_file(char path[256], const char *text)
{
    const char *folder = getenv("TMPDIR");
    snprintf(path, 256, "%s/tideover-unit-XXXXXX", folder && folder[0] ? folder : "/tmp");
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, strlen(text)), (ssize_t)strlen(text));
    close(fd);
}

#endif
