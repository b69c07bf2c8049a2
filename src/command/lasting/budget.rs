//! `--budget 60s,2048MiB`: how long a proof may take, and how much memory.

use std::time::Duration;

/// A second amount of the same kind takes the place of the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// So long for each routine.
    Time(Duration),
    /// So many bytes for all of them together.
    Memory(u64),
}

/// Why an amount was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\u{201c}{0}\u{201d} is no budget; write a time (90s, 5min) or memory (512MiB, 2GiB)")]
pub struct NoAmount(String);

const MIB: f64 = 1024.0 * 1024.0;
/// The longest time, in seconds, and the largest memory, in MiB, that mean anything.
const LONGEST: f64 = 1e9;
const LARGEST: f64 = 1e9;

/// Reads an amount: `60s`, `5min`, `1h`, `512MiB`, `2GiB`; a number alone is seconds.
///
/// # Errors
/// When it is none of these.
pub(in crate::command) fn amount(text: &str) -> Result<Amount, NoAmount> {
    let wrong = || NoAmount(super::super::source::shown(text));
    let text = text.trim();
    let unit = text.find(|c: char| !c.is_ascii_digit() && c != '.');
    let (number, unit) = text.split_at(unit.unwrap_or(text.len()));
    let number: f64 = number.parse().map_err(|_| wrong())?;
    let seconds = |factor: f64| {
        let seconds = number * factor;
        (seconds <= LONGEST).then(|| Amount::Time(Duration::from_secs_f64(seconds)))
    };
    let memory = |factor: f64| {
        let mib = number * factor;
        // At most 10^15 bytes, so nothing is lost.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "digits and a point make a number from 0, and it is bounded here"
        )]
        (mib <= LARGEST).then_some(Amount::Memory((mib * MIB) as u64))
    };
    match unit.trim().to_ascii_lowercase().as_str() {
        "" | "s" | "sec" | "seconds" => seconds(1.0),
        "m" | "min" | "minutes" => seconds(60.0),
        "h" | "hours" => seconds(3600.0),
        "mib" => memory(1.0),
        "gib" => memory(1024.0),
        _ => None,
    }
    .ok_or_else(wrong)
}

/// The budget as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::command) struct Budget {
    /// For each routine.
    pub time: Duration,
    /// For all routines together.
    pub bytes: u64,
}

impl Budget {
    /// What these amounts change of the usual minute and two GiB.
    pub(in crate::command) fn of(amounts: &[Amount]) -> Self {
        let mut budget = Self {
            time: Duration::from_secs(60),
            bytes: 2 << 30,
        };
        for amount in amounts {
            match *amount {
                Amount::Time(time) => budget.time = time,
                Amount::Memory(bytes) => budget.bytes = bytes,
            }
        }
        budget
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_memory_are_told_apart_by_their_units() {
        let budget = |texts: &[&str]| {
            let amounts: Vec<Amount> = texts.iter().map(|t| amount(t).unwrap()).collect();
            let budget = Budget::of(&amounts);
            (budget.time.as_millis(), budget.bytes)
        };
        assert_eq!(budget(&[]), (60_000, 2_147_483_648));
        assert_eq!(budget(&["90"]), (90_000, 2_147_483_648));
        assert_eq!(budget(&["0.5s", "16 MiB"]), (500, 16_777_216));
        assert_eq!(budget(&["1.5GiB", "2min"]), (120_000, 1_610_612_736));
        assert_eq!(budget(&["1h", "0s"]), (0, 2_147_483_648));
    }

    #[test]
    fn what_is_no_amount_is_told_with_what_would_be() {
        for text in [
            "",
            "s",
            "-1s",
            "2 MB",
            "1e3s",
            "1.2.3s",
            "9999999999999s",
            "\u{1b}[2J",
        ] {
            let told = amount(text).unwrap_err().to_string();
            assert!(
                told.contains("512MiB") && !told.contains('\u{1b}'),
                "{told}"
            );
        }
    }
}
