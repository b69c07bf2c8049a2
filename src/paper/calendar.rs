//! A calendar file (RFC 5545) with the rehearsals of a plan.
//!
//! Times are written as moments in UTC: they need no description of a time zone, and every calendar shows them by its own clock,
//! before and after a clock change alike. Reminders are left to the calendar, which knows what its owner wants. The name of an entry hangs on its day and on the show alone, so that a calendar that
//! takes the file in again moves entries instead of doubling them.

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta, Utc};
use icalendar::{Calendar, Component, Event, EventLike, Property};

/// A rehearsal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name, the same whenever the same day of the same plan is written.
    pub uid: String,
    /// When it begins.
    pub from: DateTime<FixedOffset>,
    /// How long it takes.
    pub minutes: u32,
    /// What it is, in a few words.
    pub title: String,
    /// What to do.
    pub words: String,
}

/// A calendar with these rehearsals and the show, which takes the whole day. `stamped` is when it was made.
#[must_use]
pub fn calendar(
    entries: &[Entry],
    (show, title): (NaiveDate, &str),
    stamped: DateTime<FixedOffset>,
) -> String {
    let stamped = stamped.with_timezone(&Utc);
    let mut calendar = Calendar::empty();
    calendar
        .append_property(Property::new("VERSION", "2.0"))
        .append_property(Property::new("PRODID", "-//allroads//rehearsals//EN"))
        .append_property(Property::new("CALSCALE", "GREGORIAN"));
    for entry in entries {
        let from = entry.from.with_timezone(&Utc);
        let to = from + TimeDelta::minutes(i64::from(entry.minutes));
        calendar.push(
            Event::new()
                .uid(&entry.uid)
                .timestamp(stamped)
                .starts(from)
                .ends(to)
                .summary(&entry.title)
                .description(&entry.words)
                .done(),
        );
    }
    calendar.push(
        Event::new()
            .uid(&format!("show-{show}@allroads"))
            .timestamp(stamped)
            // A date without an end takes that day (RFC 5545, 3.6.1).
            .starts(show)
            .summary(title)
            .done(),
    );
    calendar.done().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_written_in_utc_and_text_is_escaped_and_folded() {
        let entry = Entry {
            uid: "rehearsal-2027-03-28@allroads".into(),
            from: DateTime::parse_from_rfc3339("2027-03-28T19:00:00+02:00").unwrap(),
            minutes: 20,
            title: "Rehearse: one, two; three".into(),
            words: "First this.\nThen a very long sentence about the second seat, which is named before it is turned over.".into(),
        };
        let stamped = DateTime::parse_from_rfc3339("2027-03-01T08:00:00+01:00").unwrap();
        let show = ("2027-04-02".parse().unwrap(), "The show");
        let text = calendar(&[entry], show, stamped);
        for line in [
            "DTSTART:20270328T170000Z",
            "DTEND:20270328T172000Z",
            "DTSTAMP:20270301T070000Z",
            "UID:rehearsal-2027-03-28@allroads",
            "SUMMARY:Rehearse: one\\, two\\; three",
            "DTSTART;VALUE=DATE:20270402",
        ] {
            assert!(text.contains(&format!("{line}\r\n")), "{line}\n{text}");
        }
        // RFC 5545, 3.1: lines end with CRLF and are no longer than 75 octets.
        assert!(text.ends_with("END:VCALENDAR\r\n"));
        assert!(
            text.split("\r\n")
                .all(|line| line.len() <= 75 && !line.contains('\n'))
        );
        assert!(text.contains("First this.\\nThen"));
    }
}
