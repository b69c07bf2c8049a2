//! Times as the file keeps them: thousandths of a second in UTC, and the offset in minutes.

use super::error::LogbookError;
use chrono::{DateTime, Datelike, FixedOffset, SecondsFormat};

/// A time as kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Moment {
    /// Thousandths of a second since 1970 in UTC.
    pub ms: i64,
    /// Minutes east of UTC.
    pub offset: i32,
}

impl Moment {
    /// The time as it will be kept; years outside 1…9999 are refused, because the export could not say them.
    pub fn of(time: DateTime<FixedOffset>) -> Result<Self, LogbookError> {
        let kept = Self {
            ms: time.timestamp_millis(),
            offset: time.offset().local_minus_utc().div_euclid(60),
        };
        match kept.time() {
            Some(t)
                if (1..=9999).contains(&t.year()) && (1..=9999).contains(&t.to_utc().year()) =>
            {
                Ok(kept)
            }
            _ => Err(LogbookError::Time(format!("{time:?}"))),
        }
    }
    /// The time that was kept.
    pub fn time(self) -> Option<DateTime<FixedOffset>> {
        let zone = FixedOffset::east_opt(self.offset.checked_mul(60)?)?;
        Some(DateTime::from_timestamp_millis(self.ms)?.with_timezone(&zone))
    }
    /// As the export writes it.
    pub fn text(self) -> Option<String> {
        Some(self.time()?.to_rfc3339_opts(SecondsFormat::Millis, false))
    }
}
