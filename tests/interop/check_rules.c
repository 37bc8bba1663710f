/* Print what is wrong with a calendar, one problem a line.
 *
 * usage: check_rules FILE
 *
 * Three judges:
 *
 * - libical's parser, which leaves an X-LIC-ERROR property where it could not
 *   read a line;
 * - icalrestriction_check, which leaves one where RFC 5546 demands or forbids a
 *   property. Without a METHOD it only counts what may stand once, so it is
 *   asked again about a copy that is published (METHOD:PUBLISH), with an
 *   ORGANIZER added to each event: a feed needs no organizer, all else holds;
 * - a list of what RFC 5545 demands of the components inside others, which
 *   icalrestriction_check does not look at.
 */
#include <libical/ical.h>
#include <stdio.h>
#include <stdlib.h>

static const struct {
    icalcomponent_kind component;
    icalproperty_kind property;
} demanded[] = {
    {ICAL_XSTANDARD_COMPONENT, ICAL_DTSTART_PROPERTY}, /* RFC 5545 section 3.6.5 */
    {ICAL_XSTANDARD_COMPONENT, ICAL_TZOFFSETFROM_PROPERTY},
    {ICAL_XSTANDARD_COMPONENT, ICAL_TZOFFSETTO_PROPERTY},
    {ICAL_XDAYLIGHT_COMPONENT, ICAL_DTSTART_PROPERTY},
    {ICAL_XDAYLIGHT_COMPONENT, ICAL_TZOFFSETFROM_PROPERTY},
    {ICAL_XDAYLIGHT_COMPONENT, ICAL_TZOFFSETTO_PROPERTY},
    {ICAL_VALARM_COMPONENT, ICAL_ACTION_PROPERTY}, /* RFC 5545 section 3.6.6 */
    {ICAL_VALARM_COMPONENT, ICAL_TRIGGER_PROPERTY},
};

static char *next_line(char *buffer, size_t size, void *file)
{
    return fgets(buffer, (int)size, file);
}

static void print_absent(icalcomponent *component)
{
    for (size_t i = 0; i < sizeof demanded / sizeof demanded[0]; i++) {
        if (icalcomponent_isa(component) == demanded[i].component &&
            icalcomponent_count_properties(component, demanded[i].property) != 1) {
            printf("%s: %s must stand once, RFC 5545\n",
                   icalcomponent_kind_to_string(demanded[i].component),
                   icalproperty_kind_to_string(demanded[i].property));
        }
    }
}

static void print_problems(icalcomponent *component)
{
    print_absent(component);
    icalproperty *property = icalcomponent_get_first_property(component, ICAL_XLICERROR_PROPERTY);
    for (; property; property = icalcomponent_get_next_property(component, ICAL_XLICERROR_PROPERTY)) {
        printf("%s: %s\n", icalcomponent_kind_to_string(icalcomponent_isa(component)),
               icalproperty_get_xlicerror(property));
    }
    icalcomponent *child = icalcomponent_get_first_component(component, ICAL_ANY_COMPONENT);
    for (; child; child = icalcomponent_get_next_component(component, ICAL_ANY_COMPONENT)) {
        print_problems(child);
    }
}

static void judge(icalcomponent *calendar)
{
    if (!icalrestriction_check(calendar)) {
        printf("VCALENDAR: icalrestriction_check refuses it\n");
    }
    print_problems(calendar);
}

static void publish(icalcomponent *calendar)
{
    if (!icalcomponent_get_first_property(calendar, ICAL_METHOD_PROPERTY)) {
        icalcomponent_add_property(calendar, icalproperty_new_method(ICAL_METHOD_PUBLISH));
        icalcomponent *event = icalcomponent_get_first_component(calendar, ICAL_VEVENT_COMPONENT);
        for (; event; event = icalcomponent_get_next_component(calendar, ICAL_VEVENT_COMPONENT)) {
            icalcomponent_add_property(event, icalproperty_new_organizer("mailto:nobody@example.org"));
        }
    }
}

int main(int argc, char **argv)
{
    FILE *file = argc == 2 ? fopen(argv[1], "r") : NULL;
    if (!file) {
        fprintf(stderr, "usage: check_rules FILE\n");
        return 2;
    }
    icalparser *parser = icalparser_new();
    icalparser_set_gen_data(parser, file);
    icalcomponent *calendar = icalparser_parse(parser, next_line);
    fclose(file);
    icalparser_free(parser);
    if (!calendar) {
        printf("VCALENDAR: nothing to read\n");
        return 0;
    }
    icalcomponent *published = icalcomponent_new_clone(calendar);
    judge(calendar);
    publish(published);
    judge(published);
    icalcomponent_free(calendar);
    icalcomponent_free(published);
    return 0;
}
