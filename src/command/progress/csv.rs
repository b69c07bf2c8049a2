//! Progress for spreadsheets: RFC 4180, a row for each step and kind of question; a step never asked about has one row without a
//! kind.

use super::json::{fine, seconds};
use crate::coach::Progress;
use crate::screen::progress::words::plain_date;
use std::borrow::Cow;
use std::io::{self, Write};

/// The columns; the README tells what each holds.
const COLUMNS: [&str; 15] = [
    "routine", "step", "title", "hold", "drill", "kind", "answers", "missed", "days", "last",
    "right", "now", "show", "lately", "target",
];

/// A head, and the rows of all routines.
pub(super) fn print(routines: &[Progress], out: &mut dyn Write) -> io::Result<()> {
    row(out, &COLUMNS.map(str::to_owned))?;
    for progress in routines {
        for step in &progress.steps {
            let footing = &step.footing;
            let target = footing
                .tempo
                .as_ref()
                .and_then(|tempo| tempo.target)
                .map_or(String::new(), |time| seconds(time).to_string());
            let head = [
                progress.name.clone(),
                footing.step.to_string(),
                step.title.clone(),
                footing.hold.word().to_owned(),
            ];
            if step.skills.is_empty() {
                let none = || String::new();
                let rest = [
                    none(),
                    none(),
                    "0".to_owned(),
                    "0".to_owned(),
                    "0".to_owned(),
                    none(),
                    none(),
                    none(),
                    none(),
                    none(),
                    target.clone(),
                ];
                row(out, &[&head[..], &rest[..]].concat())?;
            }
            for skill in &step.skills {
                let rest = [
                    skill.drill.word().to_owned(),
                    skill.kind.word().to_owned(),
                    skill.answers.to_string(),
                    skill.missed.to_string(),
                    skill.days.to_string(),
                    plain_date(skill.last),
                    if skill.last_right { "yes" } else { "no" }.to_owned(),
                    fine(skill.now).to_string(),
                    fine(skill.show).to_string(),
                    skill
                        .lately
                        .map_or(String::new(), |time| seconds(time).to_string()),
                    target.clone(),
                ];
                row(out, &[&head[..], &rest[..]].concat())?;
            }
        }
    }
    Ok(())
}

fn row(out: &mut dyn Write, fields: &[String]) -> io::Result<()> {
    let fields: Vec<Cow<'_, str>> = fields.iter().map(|field| quoted(field)).collect();
    write!(out, "{}\r\n", fields.join(","))
}

/// A field as RFC 4180 writes it: in quotes, which are doubled, where it holds a comma, a quote or a line break.
fn quoted(field: &str) -> Cow<'_, str> {
    if field.contains([',', '"', '\r', '\n']) {
        Cow::Owned(format!("\"{}\"", field.replace('"', "\"\"")))
    } else {
        Cow::Borrowed(field)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The records of a text, read by the grammar of RFC 4180, section 2.
    fn read(text: &str) -> Vec<Vec<String>> {
        let mut records = vec![vec![String::new()]];
        let mut chars = text.chars().peekable();
        let mut inside = false;
        while let Some(c) = chars.next() {
            let field = records.last_mut().unwrap().last_mut().unwrap();
            match (inside, c) {
                (true, '"') if chars.peek() == Some(&'"') => {
                    chars.next();
                    field.push('"');
                }
                (true, '"') => inside = false,
                (false, '"') => inside = true,
                (false, ',') => records.last_mut().unwrap().push(String::new()),
                (false, '\r') if chars.peek() == Some(&'\n') => {
                    chars.next();
                    records.push(vec![String::new()]);
                }
                (_, c) => field.push(c),
            }
        }
        assert_eq!(
            records.pop(),
            Some(vec![String::new()]),
            "it ends with a line break"
        );
        records
    }

    proptest! {
        #[test]
        fn any_fields_come_back(
            fields in proptest::collection::vec(proptest::collection::vec(any::<String>(), 3), 1..4),
        ) {
            let mut out = Vec::new();
            for record in &fields {
                row(&mut out, record).unwrap();
            }
            prop_assert_eq!(read(&String::from_utf8(out).unwrap()), fields);
        }
    }
}
