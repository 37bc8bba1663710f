// What ical.js makes of a calendar, by the VTIMEZONE components of the file alone.
//
// usage: node read_calendar.mjs ICAL_JS events CALENDAR
//        node read_calendar.mjs ICAL_JS utc CALENDAR TIMES
//
// events prints a JSON list of {uid, summary, start, end, alarms}; utc prints,
// for each line "zone time" of TIMES ("Europe/Amsterdam 20261025T070000"), the
// seconds since 1970-01-01T00:00:00Z. All times printed are such seconds.

import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [library, mode, calendarFile, timesFile] = process.argv.slice(2);
const { default: ICAL } = await import(pathToFileURL(library).href);
const calendar = new ICAL.Component(ICAL.parse(readFileSync(calendarFile, "utf8")));

const zones = new Map();
for (const component of calendar.getAllSubcomponents("vtimezone")) {
  const zone = new ICAL.Timezone(component);
  zones.set(zone.tzid, zone);
}

function seconds(time, zone) {
  // Never the service's built-in guess: a zone missing from the file is an error.
  if (!zone) throw new Error(`no VTIMEZONE for ${time}`);
  const copy = time.clone();
  copy.zone = zone;
  return copy.toUnixTime();
}

function propertySeconds(component, name) {
  const property = component.getFirstProperty(name);
  const time = property.getFirstValue();
  const tzid = property.getFirstParameter("tzid");
  return seconds(time, tzid ? zones.get(tzid) : time.zone);
}

function readEvent(component) {
  const start = propertySeconds(component, "dtstart");
  const end = component.hasProperty("dtend")
    ? propertySeconds(component, "dtend")
    : start + component.getFirstPropertyValue("duration").toSeconds();
  const alarms = component.getAllSubcomponents("valarm").map(
    (alarm) => start + alarm.getFirstPropertyValue("trigger").toSeconds(),
  );
  return {
    uid: component.getFirstPropertyValue("uid"),
    summary: component.getFirstPropertyValue("summary"),
    start,
    end,
    alarms,
  };
}

if (mode === "events") {
  console.log(JSON.stringify(calendar.getAllSubcomponents("vevent").map(readEvent)));
} else {
  const lines = readFileSync(timesFile, "utf8").trimEnd().split("\n");
  const answers = lines.map((line) => {
    const [tzid, text] = line.split(" ");
    const [, y, m, d, h, i, s] = text.match(/(\d{4})(\d\d)(\d\d)T(\d\d)(\d\d)(\d\d)/).map(Number);
    return seconds(new ICAL.Time({ year: y, month: m, day: d, hour: h, minute: i, second: s }), zones.get(tzid));
  });
  console.log(answers.join("\n"));
}
