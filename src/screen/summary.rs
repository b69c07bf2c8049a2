//! The summary after a rehearsal: what went well, weak steps, times against target, and one sentence on what to do next.

use super::sheet::Sheet;
use super::shelf::Shelved;
use super::state::Ended;
use crate::drill::StepSummary;
use crate::routine::Millis;
use ratatui::style::Style;

/// Draws the summary.
pub fn draw(shelved: &[&Shelved], ended: &Ended, sheet: &mut Sheet<'_>) {
    let titles: Vec<&str> = shelved.iter().map(|one| &*one.routine.title).collect();
    let theme = sheet.theme;
    let summary = &ended.summary;
    sheet.pieces(&[(&titles.join(" · "), theme.quiet())]);
    sheet.skip(1);
    let head = match summary.asked {
        0 => "Nothing was asked yet.".to_owned(),
        asked => format!("{} of {asked} right.", summary.right),
    };
    let roads = match summary.roads {
        1 => "one road".to_owned(),
        n => format!("{n} roads"),
    };
    let along = format!("   {roads}, {}", minutes(ended.spent));
    sheet.pieces(&[(&head, theme.strong()), (&along, theme.quiet())]);
    if ended.lost > 0 {
        let lost = match ended.lost {
            1 => "One answer could not be kept.".to_owned(),
            n => format!("{n} answers could not be kept."),
        };
        sheet.text(&lost, theme.here());
    }
    sheet.skip(1);
    for sentence in &summary.went_well {
        sheet.hanging("✓ ", sentence, Style::new());
    }
    if !summary.went_well.is_empty() {
        sheet.skip(1);
    }
    // The last sentence must be seen whatever else there is.
    let next =
        super::sheet::wrap(&summary.next, usize::from(sheet.width().saturating_sub(6))).len();
    let planned = shelved
        .iter()
        .find_map(|one| one.standing.planned.as_ref())
        .map(|next| format!("By your plan: {next}."));
    let keep = u16::try_from(next).unwrap_or(1) + 1 + u16::from(planned.is_some());
    if !summary.weak.is_empty() && sheet.left() > keep + 2 {
        sheet.pieces(&[("Worth another look", theme.strong())]);
        for step in &summary.weak {
            if sheet.left() <= keep + 1 {
                break;
            }
            weak(step, sheet);
        }
        sheet.skip(1);
    }
    sheet.hanging("▸ ", &summary.next, theme.strong());
    if let Some(planned) = planned {
        sheet.hanging("  ", &planned, theme.quiet());
    }
}

/// One weak step: right ones, and its time against the target.
fn weak(step: &StepSummary, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let score = format!("  {} of {}", step.right, step.asked);
    let time = match (step.median, step.target) {
        (Some(median), Some(target)) => format!(
            "   took {}, the step has {}",
            seconds(median),
            seconds(target)
        ),
        (Some(median), None) => format!("   took {}", seconds(median)),
        (None, _) => String::new(),
    };
    sheet.pieces(&[
        ("◔ ", theme.here()),
        (&step.title, Style::new()),
        (&score, Style::new()),
        (&time, theme.quiet()),
    ]);
}

/// Seconds with one decimal: "3.4 s".
#[must_use]
pub fn seconds(time: Millis) -> String {
    let tenths = (time.0 + 50) / 100;
    format!("{}.{} s", tenths / 10, tenths % 10)
}

fn minutes(time: Millis) -> String {
    let whole = time.0 / 1_000;
    match (whole / 60, whole % 60) {
        (0, 1) => "one second".to_owned(),
        (0, seconds) => format!("{seconds} seconds"),
        (1, _) => "about a minute".to_owned(),
        (minutes, _) => format!("{minutes} minutes"),
    }
}
