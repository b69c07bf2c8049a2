//! Progress as lines of characters: the screen shows them in a window, the command prints them.
//!
//! ```text
//!  Title                                     the show is on 7 December 2031, in 12 days
//!  A clean run on the night: 62 in 100.
//!
//!  ○───◔───◑───●───◔               1 new  2 shaky  1 steady  1 show-ready
//!
//!  The weeks
//!  answers    ▄▄  ██
//!             ●───●───○───◇
//!  clean run  14  31
//! ```

use super::words;
use crate::coach::{Hold, Progress, StepProgress, Tempo, WeekProgress};
use crate::screen::foyer::mark;
use crate::screen::sheet::{clean, wrap};
use crate::screen::theme::Theme;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

/// A line in pieces, each with its look.
pub type Row = Vec<(String, Style)>;

/// Columns of what stands to the left of the weeks.
const GUTTER: usize = 11;
/// Columns of a week.
const WEEK: usize = 4;
/// Rows of the bars over the weeks.
const BARS: usize = 3;
/// The parts of a bar's last cell.
const EIGHTHS: [&str; 9] = [" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"];

/// Lines being written.
struct Page {
    rows: Vec<Row>,
    width: usize,
    theme: Theme,
}

impl Page {
    fn row(&mut self, pieces: &[(&str, Style)]) {
        // What is too long ends at the edge.
        let mut room = self.width;
        let mut row = Row::new();
        for (text, style) in pieces {
            let text = clean(text);
            let text = if text.width() > room {
                fit(&text, room)
            } else {
                text
            };
            room = room.saturating_sub(text.width());
            row.push((text, *style));
        }
        self.rows.push(row);
    }
    fn skip(&mut self) {
        self.rows.push(Row::new());
    }
    fn hanging(&mut self, lead: &str, text: &str, style: Style) {
        let room = self.width.saturating_sub(lead.width());
        let quiet = self.theme.quiet();
        for (n, line) in wrap(text, room).into_iter().enumerate() {
            let lead = if n == 0 {
                lead.to_owned()
            } else {
                " ".repeat(lead.width())
            };
            self.rows.push(vec![(lead, quiet), (line, style)]);
        }
    }
    /// A heading, and in quiet letters what stands below it.
    fn heading(&mut self, title: &str, below: &str) {
        self.skip();
        let room = self.width.saturating_sub(title.width() + 3);
        let strong = self.theme.strong();
        if below.width() <= room {
            let quiet = self.theme.quiet();
            self.row(&[(title, strong), ("   ", Style::new()), (below, quiet)]);
        } else {
            self.row(&[(title, strong)]);
            self.hanging("", below, self.theme.quiet());
        }
    }
}

/// The text cut or filled to a width; what is cut ends in an ellipsis.
fn fit(text: &str, width: usize) -> String {
    let mut text = clean(text);
    if text.width() > width {
        while !text.is_empty() && text.width() + 1 > width {
            text.pop();
        }
        if width > 0 {
            text.push('…');
        }
    }
    let fill = width.saturating_sub(text.width());
    text.push_str(&" ".repeat(fill));
    text
}

/// The progress of one routine, as wide as this.
#[must_use]
pub fn lines(progress: &Progress, width: usize, theme: Theme) -> Vec<Row> {
    let mut page = Page {
        rows: Vec::new(),
        width,
        theme,
    };
    head(progress, &mut page);
    road(progress, &mut page);
    if progress.answers > 0 {
        weeks(progress, &mut page);
        steps(progress, &mut page);
        costs(progress, &mut page);
        times(progress, &mut page);
        met(progress, &mut page);
        branches(progress, &mut page);
    }
    if !progress.gone.is_empty() {
        let steps: Vec<&str> = progress.gone.iter().map(|step| &*step.0).collect();
        page.heading("No longer in the routine", &steps.join(", "));
    }
    page.skip();
    page.hanging("▸ ", &words::next(progress), theme.strong());
    page.skip();
    let quiet = theme.quiet();
    page.hanging(
        "",
        &format!("{} {}", words::meanings(), words::CLEAN),
        quiet,
    );
    page.rows
}

fn head(progress: &Progress, page: &mut Page) {
    let (strong, quiet) = (page.theme.strong(), page.theme.quiet());
    let show = words::show(progress).unwrap_or_default();
    let room = page.width.saturating_sub(progress.title.width());
    if !show.is_empty() && show.width() + 2 > room {
        page.row(&[(&progress.title, strong)]);
        page.row(&[(&show, quiet)]);
    } else {
        let gap = " ".repeat(room.saturating_sub(show.width()));
        page.row(&[(&progress.title, strong), (&gap, quiet), (&show, quiet)]);
    }
    page.hanging("", &words::headline(progress), page.theme.good());
    if let Some(trust) = words::trust(progress) {
        page.hanging("", &trust, quiet);
    }
}

/// The road with a mark for each step, and how many are held in each way.
fn road(progress: &Progress, page: &mut Page) {
    page.skip();
    let theme = page.theme;
    let count = progress.steps.len();
    // Gaps as wide as fit, at least one.
    let gap = (1..=3)
        .rev()
        .find(|gap| count * (gap + 1) <= page.width)
        .unwrap_or(1);
    // A road longer than the page goes on in the next line.
    let fits = ((page.width + gap) / (gap + 1)).max(1);
    for part in progress.steps.chunks(fits) {
        let mut row = Row::new();
        for (n, step) in part.iter().enumerate() {
            if n > 0 {
                row.push(("─".repeat(gap), theme.road()));
            }
            let mark = mark(step.footing.hold);
            row.push((mark.shape().to_owned(), mark.style(theme)));
        }
        page.rows.push(row);
    }
    let mut row = Row::new();
    for (hold, count) in words::tally(progress) {
        let mark = mark(hold);
        row.push((mark.shape().to_owned(), mark.style(theme)));
        row.push((format!(" {count} {}   ", hold.word()), theme.quiet()));
    }
    page.rows.push(row);
}

/// The weeks along a road of their own: bars of answers above it, the chance of a clean run below.
fn weeks(progress: &Progress, page: &mut Page) {
    let theme = page.theme;
    // The show stands at the end of the road.
    let fits = (page.width.saturating_sub(GUTTER + 9) / WEEK).max(1);
    let all = &progress.weeks;
    let weeks = &all[all.len().saturating_sub(fits)..];
    let most = weeks.iter().map(|week| week.answers).max().unwrap_or(0);
    let shows = if weeks.iter().any(|week| week.shows > 0) {
        "; ◆ a show"
    } else {
        ""
    };
    page.heading(
        "The weeks",
        &format!("answers, {most} at most; below, a clean run in 100 on the Monday after{shows}"),
    );
    for row in (0..BARS).rev() {
        let label = if row == 0 { "answers" } else { "" };
        let mut bars = fit(label, GUTTER);
        for week in weeks {
            bars.push_str(&EIGHTHS[bar(week.answers, most, row)].repeat(2));
            bars.push_str("  ");
        }
        page.row(&[(bars.trim_end(), theme.road())]);
    }
    let mut row: Row = vec![(" ".repeat(GUTTER), Style::new())];
    for (n, week) in weeks.iter().enumerate() {
        let (shape, style) = if week.shows > 0 {
            ("◆", theme.here())
        } else if week.answers > 0 {
            ("●", theme.road())
        } else {
            ("○", theme.quiet())
        };
        row.push((shape.to_owned(), style));
        let last = n + 1 == weeks.len();
        if !last || progress.aim.show.is_some() {
            row.push(("─".repeat(WEEK - 1), theme.road()));
        }
    }
    if let Some(show) = progress.aim.show {
        row.push((format!("◇ {}", words::short_date(show)), theme.here()));
    }
    page.rows.push(row);
    let mut chances = fit("clean run", GUTTER);
    for week in weeks {
        chances.push_str(&match week.chance {
            Some(chance) => format!("{:<4}", words::of_a_hundred(chance)),
            None => " ".repeat(WEEK),
        });
    }
    let ahead = match (&progress.readiness, progress.aim.show) {
        (Some(readiness), Some(_)) => words::of_a_hundred(readiness.chance).to_string(),
        (_, _) => String::new(),
    };
    page.row(&[(chances.as_str(), Style::new()), (&ahead, theme.here())]);
    page.row(&[(&dates(weeks), theme.quiet())]);
}

/// How many eighths of this row of the bar are filled; a week with an answer shows something.
fn bar(answers: u32, most: u32, row: usize) -> usize {
    let full = BARS * 8;
    let whole = usize::try_from(answers).unwrap_or(usize::MAX);
    let most = usize::try_from(most.max(1)).unwrap_or(usize::MAX);
    let eighths = (whole.saturating_mul(full)).div_ceil(most);
    eighths.saturating_sub(row * 8).min(8)
}

/// The date of the first week, and of each that begins a month, where there is room.
fn dates(weeks: &[WeekProgress]) -> String {
    let mut line = " ".repeat(GUTTER);
    for (n, week) in weeks.iter().enumerate() {
        let at = GUTTER + n * WEEK;
        let free = line.width() == GUTTER || line.width() + 1 < at;
        if (n == 0 || words::begins_a_month(week.monday)) && free {
            line.push_str(&" ".repeat(at.saturating_sub(line.width())));
            line.push_str(&words::short_date(week.monday));
        }
    }
    line
}

/// Columns of a step's line: its title, and its bar.
fn columns(width: usize) -> (usize, usize) {
    let spare = width.saturating_sub(72);
    let bar = 10 + (spare / 3).min(12);
    (width.saturating_sub(bar + 41).max(12), bar)
}

fn steps(progress: &Progress, page: &mut Page) {
    let theme = page.theme;
    page.heading(
        "The steps",
        &format!(
            "right in 100 today › {}; answers so far",
            words::night(progress)
        ),
    );
    let (title, bar) = columns(page.width);
    for step in &progress.steps {
        let mark = mark(step.footing.hold);
        let asked = step.footing.answers > 0;
        let chance = words::of_a_hundred(step.footing.show);
        let today = words::of_a_hundred(step.footing.now);
        let filled = if asked {
            (usize::from(chance) * bar / 100).max(1)
        } else {
            0
        };
        let number = if asked {
            format!(" {today:>3} › {chance:<3} ")
        } else {
            "   – › –   ".to_owned()
        };
        let word_style = match step.footing.hold {
            Hold::Shaky => theme.here(),
            Hold::Untried | Hold::Steady | Hold::ShowReady => Style::new(),
        };
        page.row(&[
            (mark.shape(), mark.style(theme)),
            (" ", Style::new()),
            (&fit(&step.title, title), Style::new()),
            ("  ", Style::new()),
            (&"█".repeat(filled), theme.road()),
            (&"·".repeat(bar - filled), theme.quiet()),
            (&number, Style::new()),
            (&fit(step.footing.hold.word(), 11), word_style),
            (&words::answers(step), theme.quiet()),
        ]);
    }
}

/// At most so many steps are named as costing most.
const DEAREST: usize = 5;

fn costs(progress: &Progress, page: &mut Page) {
    let dear = progress.dearest();
    let Some(readiness) = progress.readiness.as_ref().filter(|_| !dear.is_empty()) else {
        return;
    };
    let theme = page.theme;
    page.heading(
        "What costs most of the clean run",
        "and what it would be if the step never failed",
    );
    let (title, _) = columns(page.width);
    for (step, costs) in dear.into_iter().take(DEAREST) {
        page.row(&[
            ("− ", theme.here()),
            (&fit(&step.title, title), Style::new()),
            (
                &format!("  {:>2} in 100", words::of_a_hundred(costs)),
                theme.strong(),
            ),
            (
                &format!("   then {}", words::in_100(readiness.chance + costs)),
                theme.quiet(),
            ),
        ]);
    }
}

/// Columns of a step's title at least, and of its times: where there is no room for so many, they are left out.
const TITLE: usize = 12;
const TIMES: std::ops::RangeInclusive<usize> = 6..=16;

/// Columns of a step's title, the longest of which is so wide, and of its times, beside words as wide as this.
fn beside(width: usize, titles: usize, words: usize) -> (usize, usize) {
    let room = width.saturating_sub(words + 6);
    let times = match room.saturating_sub(titles.max(TITLE)) {
        spare if spare >= *TIMES.start() => spare.min(*TIMES.end()),
        _ if room >= TITLE + TIMES.start() => *TIMES.start(),
        _ => 0,
    };
    (room.saturating_sub(times), times)
}

fn times(progress: &Progress, page: &mut Page) {
    let theme = page.theme;
    let timed: Vec<(&StepProgress, &Tempo)> = progress
        .steps
        .iter()
        .filter_map(|step| Some((step, step.footing.tempo.as_ref()?)))
        .collect();
    if timed.is_empty() {
        return;
    }
    page.heading(
        "Times",
        "the latest right answers, lately beside the target, and where they are heading",
    );
    let told: Vec<(&StepProgress, &Tempo, String, String)> = timed
        .into_iter()
        .map(|(step, tempo)| {
            let heading = words::heading_for(tempo)
                .map(|to| format!(" › {}", words::seconds(to)))
                .unwrap_or_default();
            (step, tempo, words::pace(tempo), heading)
        })
        .collect();
    let most = told
        .iter()
        .map(|(_, _, pace, heading)| pace.width() + heading.width())
        .max();
    let titles = told.iter().map(|(step, ..)| step.title.width()).max();
    let (title, wide) = beside(page.width, titles.unwrap_or(0), most.unwrap_or(0));
    for (step, tempo, pace, heading) in told {
        let late = if tempo.fits {
            Style::new()
        } else {
            theme.here()
        };
        page.row(&[
            ("  ", Style::new()),
            (&fit(&step.title, title), Style::new()),
            ("  ", Style::new()),
            (&fit(&spark(tempo, wide), wide), theme.road()),
            ("  ", Style::new()),
            (&pace, late),
            (&heading, theme.quiet()),
        ]);
    }
}

/// The latest times as a row of small bars, the longest as high as a line.
fn spark(tempo: &Tempo, count: usize) -> String {
    let times = &tempo.times[tempo.times.len().saturating_sub(count)..];
    let most = times.iter().map(|time| time.0).max().unwrap_or(0).max(1);
    times
        .iter()
        .map(|time| {
            let eighths = time.0.saturating_mul(8).div_ceil(most).clamp(1, 8);
            EIGHTHS[usize::try_from(eighths).unwrap_or(8)]
        })
        .collect()
}

/// What happened away from the questions: in runs by hand, and on a stage.
fn met(progress: &Progress, page: &mut Page) {
    let met: Vec<(&StepProgress, String)> = progress
        .steps
        .iter()
        .filter_map(|step| Some((step, words::met(step)?)))
        .collect();
    if met.is_empty() {
        return;
    }
    page.heading("Slips and strays", "in runs by hand, and at shows");
    for (step, happened) in met {
        page.hanging("− ", &format!("{}: {happened}", step.title), Style::new());
    }
}

fn branches(progress: &Progress, page: &mut Page) {
    if progress.untried.is_empty() {
        return;
    }
    page.heading("Never practised", "choices that no road of yours went by");
    for untried in &progress.untried {
        page.hanging("◇ ", &words::branches(untried), Style::new());
    }
}
