/* calendar.c: the calendar of 365 days; 29 February reads as the 28th. */
#include "base/base.h"

#include <string.h>

enum { MONTHS = 12, DAYS = 365 };

/* Days in the months before this one (0 = January); 365 for month 12. */
static int days_before(int month)
{
    static const short before[MONTHS + 1] = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365};
    return before[month];
}

/* Two digits as a number; -1 when they are none. */
static int two_digits(const char *text)
{
    if (text[0] < '0' || text[0] > '9' || text[1] < '0' || text[1] > '9') {
        return -1;
    }
    return (text[0] - '0') * 10 + (text[1] - '0');
}

int base_day_of_year(const char *mm_dd)
{
    if (mm_dd == NULL || strlen(mm_dd) != 5 || mm_dd[2] != '-') {
        return -1;
    }
    int month = two_digits(mm_dd), day = two_digits(mm_dd + 3);
    if (month == 2 && day == 29) {
        day = 28;
    }
    if (month < 1 || month > MONTHS || day < 1 || day > days_before(month) - days_before(month - 1)) {
        return -1;
    }
    return days_before(month - 1) + day - 1;
}

void base_mm_dd(int day_of_year, char text[6])
{
    int day = day_of_year % DAYS;
    if (day < 0) {
        day += DAYS;
    }
    int month = 1;
    while (days_before(month) <= day) {
        month++;
    }
    int of_month = day - days_before(month - 1) + 1;
    text[0] = (char)('0' + month / 10);
    text[1] = (char)('0' + month % 10);
    text[2] = '-';
    text[3] = (char)('0' + of_month / 10);
    text[4] = (char)('0' + of_month % 10);
    text[5] = '\0';
}
