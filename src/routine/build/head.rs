//! The head of the file: version, language, times.

use crate::cards::Lang;
use crate::routine::check::Gathered;
use crate::routine::draft::RoutineFile;
use crate::routine::model::Millis;
use crate::routine::yaml_read::Text;

/// The language versions that are understood.
const VERSION: &str = "1";

pub(super) fn version(draft: &RoutineFile, gathered: &Gathered<'_>) {
    if let Some(version) = draft.allroads.as_ref().and_then(|v| v.get())
        && version.text != VERSION
    {
        gathered.advise(
            version.spot,
            format!("language version `{}` is not known", version.text),
            "write `allroads: 1`, or use a newer allroads",
        );
    }
}

pub(super) fn lang(draft: &RoutineFile, gathered: &Gathered<'_>) -> Lang {
    let Some(text) = draft.lang.as_ref().and_then(|l| l.get()) else {
        return Lang::EnGb;
    };
    Lang::ALL
        .into_iter()
        .find(|lang| lang.tag() == text.text)
        .unwrap_or_else(|| {
            gathered.unknown(
                text.spot,
                "language",
                &text.text,
                Lang::ALL.iter().map(|lang| lang.tag()),
            );
            Lang::EnGb
        })
}

/// The longest time that may be written, in seconds: a day.
const LONGEST: u64 = 24 * 60 * 60;

/// Reads `6m30s`, `90s`, `1h`.
pub(super) fn time(text: &Text, gathered: &Gathered<'_>) -> Option<Millis> {
    let read = seconds(&text.text).filter(|s| (1..=LONGEST).contains(s));
    if read.is_none() {
        gathered.advise(
            text.spot,
            format!("`{}` is not a time", text.text),
            "write minutes and seconds, such as `6m30s` or `90s`",
        );
    }
    read.map(|s| Millis(s * 1000))
}

fn seconds(text: &str) -> Option<u64> {
    let mut rest = text.trim();
    let mut sum = 0_u64;
    let mut units = [('h', 3600), ('m', 60), ('s', 1)].into_iter();
    while !rest.is_empty() {
        let digits = rest.find(|c: char| !c.is_ascii_digit())?;
        let (number, tail) = rest.split_at(digits);
        let unit = tail.chars().next()?;
        let (_, factor) = units.find(|(letter, _)| *letter == unit)?;
        sum = sum.checked_add(number.parse::<u64>().ok()?.checked_mul(factor)?)?;
        rest = tail.get(1..)?;
    }
    (!text.trim().is_empty()).then_some(sum)
}

#[cfg(test)]
mod tests {
    use super::seconds;

    #[test]
    fn times_are_hours_minutes_and_seconds_in_this_order() {
        assert_eq!(seconds("6m30s"), Some(390));
        assert_eq!(seconds("90s"), Some(90));
        assert_eq!(seconds("1h2m3s"), Some(3723));
        for wrong in [
            "",
            "90",
            "s",
            "30s6m",
            "5 minutes",
            "1.5m",
            "-3s",
            "3s3s",
            "ü",
        ] {
            assert_eq!(seconds(wrong), None, "{wrong}");
        }
    }
}
