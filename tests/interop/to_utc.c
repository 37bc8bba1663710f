/* Turn local times into UTC by the VTIMEZONE components of a file alone.
 *
 * usage: to_utc CALENDAR TIMES
 *
 * TIMES holds lines of "zone time", such as "Europe/Amsterdam 20261025T070000".
 * Prints for each the seconds since 1970-01-01T00:00:00Z.
 */
#include <libical/ical.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char *next_line(char *buffer, size_t size, void *file)
{
    return fgets(buffer, (int)size, file);
}

int main(int argc, char **argv)
{
    FILE *file = argc == 3 ? fopen(argv[1], "r") : NULL;
    FILE *times = argc == 3 ? fopen(argv[2], "r") : NULL;
    if (!file || !times) {
        fprintf(stderr, "usage: to_utc CALENDAR TIMES\n");
        return 2;
    }
    icalparser *parser = icalparser_new();
    icalparser_set_gen_data(parser, file);
    icalcomponent *calendar = icalparser_parse(parser, next_line);
    if (!calendar) {
        fprintf(stderr, "%s: nothing to read\n", argv[1]);
        return 2;
    }
    char wanted[128], text[32], current[128] = "";
    const icaltimezone *zone = NULL;
    while (fscanf(times, "%127s %31s", wanted, text) == 2) {
        if (strcmp(wanted, current) != 0) {
            zone = icalcomponent_get_timezone(calendar, wanted);
            strcpy(current, wanted);
        }
        if (!zone) {
            fprintf(stderr, "%s: no VTIMEZONE %s\n", argv[1], wanted);
            return 2;
        }
        struct icaltimetype local = icaltime_from_string(text);
        printf("%lld\n", (long long)icaltime_as_timet_with_zone(local, zone));
    }
    return 0;
}
