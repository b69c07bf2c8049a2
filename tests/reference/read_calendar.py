"""Reads a calendar file with the package `icalendar` and compares it with what `allroads plan --json` says: the same
rehearsals, the same instants before and after a clock change, each at the same time of the performer's clock.

    python read_calendar.py FILE.ics FILE.json ZONE TIME
"""

import json
import sys
from datetime import date, datetime, timezone
from zoneinfo import ZoneInfo

from icalendar import Calendar

ics, plan, zone, clock = sys.argv[1:]
with open(ics, "rb") as file:
    raw = file.read()
calendar = Calendar.from_ical(raw)
with open(plan, encoding="utf-8") as file:
    plan = json.load(file)

events = [part for part in calendar.walk("VEVENT")]
timed = [e for e in events if isinstance(e["DTSTART"].dt, datetime)]
whole = [e for e in events if not isinstance(e["DTSTART"].dt, datetime)]

assert len(timed) == len(plan["days"]), (len(timed), len(plan["days"]))
offsets = set()
for event, day in zip(timed, plan["days"]):
    begins = datetime.fromisoformat(day["begins"])
    ends = datetime.fromisoformat(day["ends"])
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    assert start.tzinfo is not None and end.tzinfo is not None, event
    assert start == begins and end == ends, (start, begins, end, ends)
    assert (end - start).total_seconds() == 60 * day["minutes"], day
    # By the time zone database of the system, not by ours.
    local = start.astimezone(ZoneInfo(zone))
    assert local.strftime("%Y-%m-%d %H:%M") == f"{day['date']} {clock}", (local, day)
    offsets.add(local.utcoffset())
    for command in day["commands"]:
        assert command in str(event["DESCRIPTION"]), (command, event["DESCRIPTION"])
assert len(offsets) == 2, f"the plan should go across a clock change: {offsets}"

assert len(whole) == 1 and whole[0]["DTSTART"].dt == date.fromisoformat(plan["show"])
names = [str(e["UID"]) for e in events]
assert len(set(names)) == len(names), names
assert all(e["DTSTAMP"].dt.tzinfo == timezone.utc or e["DTSTAMP"].dt.utcoffset().total_seconds() == 0 for e in events)
print(f"{len(timed)} rehearsals and the show: the same instants, {len(offsets)} offsets from UTC")
