//! `plan`: the rehearsals until a show.

mod json;
pub(super) mod kept;
mod text;

use super::coaching::{self, Coached, day_of};
use super::failure::{Failure, Outcome};
use super::machine::Machine;
use super::source::{Source, shown};
use crate::coach::{Events, MOST_MINUTES, Part, Plan, PlannedDay, Wish};
use crate::logbook::Logbook;
use crate::paper::calendar::{Entry, calendar};
use crate::routine::{Routine, StepId};
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime};
use clap::Args;
use kept::{Kept, Planned, date};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use std::path::PathBuf;

/// Minutes on one day when nobody said otherwise.
const USUAL_MINUTES: u32 = 20;

/// The performers who play a plan through are the same each time.
const SEED: u64 = 1;

/// What to plan for.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// The routines of the show: names, or paths; without any, the plan as it stands, changed by what else is given
    #[arg(value_name = "ROUTINE")]
    pub routines: Vec<String>,
    /// The day of the show: 2031-05-01
    #[arg(long, value_name = "DATE")]
    pub show: Option<NaiveDate>,
    /// The most minutes on one day (20); more than 60 are never planned
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub minutes_per_day: Option<u32>,
    /// The days of the week that are free for it: mon,wed,sat (all)
    #[arg(long, value_name = "DAYS", value_delimiter = ',', value_parser = kept::weekday)]
    pub days: Vec<usize>,
    /// A day that is not free; may be given several times
    #[arg(long, value_name = "DATE", value_delimiter = ',')]
    pub off: Vec<NaiveDate>,
    /// When rehearsals begin, for the calendar (19:00)
    #[arg(long, value_name = "TIME", value_parser = time_of_day)]
    pub at: Option<NaiveTime>,
    /// Write the rehearsals into this file, for a calendar; it is written anew each time
    #[arg(long, value_name = "FILE")]
    pub ics: Option<PathBuf>,
    /// Forget the plan
    #[arg(long, exclusive = true)]
    pub forget: bool,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

fn time_of_day(text: &str) -> Result<NaiveTime, String> {
    NaiveTime::parse_from_str(text, "%H:%M")
        .map_err(|_| "a time of day is needed, such as 19:00".to_owned())
}

/// A routine of the show with all that is known of it.
struct Act {
    planned: Planned,
    routine: Routine,
    coached: Coached,
    events: BTreeMap<StepId, Events>,
}

/// A plan with what it takes to tell it.
struct Told<'a> {
    kept: &'a Kept,
    acts: &'a [Act],
    plan: &'a Plan,
    now: DateTime<FixedOffset>,
    /// When each day's rehearsal begins.
    begins: Vec<DateTime<FixedOffset>>,
    /// The most minutes that were asked for, where that is more than is ever planned.
    too_long: Option<u32>,
}

/// Plans.
pub(super) fn run(
    args: &PlanArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let mut logbook = machine.logbook()?;
    let before = kept::kept(&logbook)?;
    let now = machine.now();
    if args.forget {
        return forget(&mut logbook, before.as_ref(), out);
    }
    let mut wanted = wanted(args, before.clone())?;
    if wanted.show < now.date_naive() {
        return Err(Failure::Wrong(format!(
            "the show was on {}, and today is {}\n  Tell how it went with `allroads shows add`; name another day with --show.",
            wanted.show,
            now.date_naive()
        )));
    }
    let acts: Vec<Act> = wanted
        .routines
        .iter()
        .map(|planned| act(&mut logbook, planned))
        .collect::<Result<_, Failure>>()?;
    let parts: Vec<Part<'_>> = acts
        .iter()
        .map(|act| Part {
            routine: &act.routine,
            record: &act.coached.record,
            events: &act.events,
            met: &act.coached.met,
        })
        .collect();
    let wish = Wish {
        season: wanted.season(&logbook, now)?,
        minutes: wanted.most,
    };
    let plan = crate::coach::plan(&wish, &parts, SEED)?;
    wanted.spacing = plan.spacing.word().to_owned();
    wanted.minutes = plan.minutes;
    kept::keep(&mut logbook, before.as_ref(), &wanted)?;
    let told = Told {
        kept: &wanted,
        acts: &acts,
        plan: &plan,
        now,
        begins: plan
            .days
            .iter()
            .map(|one| machine.at(date(one.day).and_time(wanted.at)))
            .collect(),
        too_long: args.minutes_per_day.filter(|most| *most > MOST_MINUTES),
    };
    if let Some(path) = &args.ics {
        std::fs::write(path, told.calendar()).map_err(|source| Failure::Unwritable {
            path: path.clone(),
            source,
        })?;
    }
    if args.json {
        serde_json::to_writer(&mut *out, &told.json()).map_err(io::Error::from)?;
        writeln!(out)?;
    } else {
        told.text(out)?;
        if let Some(path) = &args.ics {
            writeln!(
                out,
                "\nFor your calendar: {}. Take it into a calendar of its own: what is replanned\nmoves there, but what is dropped stays until you take it out.",
                path.display()
            )?;
        }
    }
    Ok(Outcome::Done)
}

fn forget(
    logbook: &mut Logbook,
    before: Option<&Kept>,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    match before {
        Some(before) => {
            kept::forget(logbook, before)?;
            writeln!(
                out,
                "The plan for {} is forgotten; everything practised is kept.",
                before.show
            )?;
        }
        None => writeln!(out, "There is no plan.")?,
    }
    Ok(Outcome::Done)
}

/// The plan that is asked for: the one before, changed by what is given, or a new one.
fn wanted(args: &PlanArgs, before: Option<Kept>) -> Result<Kept, Failure> {
    let new = !args.routines.is_empty();
    let mut plan = match (before, new) {
        (Some(before), false) => before,
        (None, false) => {
            return Err(Failure::Wrong(
                "there is no plan yet\n  Make one: allroads plan ROUTINE --show 2031-05-01"
                    .to_owned(),
            ));
        }
        (before, true) => {
            let again = before.as_ref().map(|before| before.show);
            let show = args.show.or(again).ok_or_else(|| {
                Failure::Wrong("when is the show?\n  Say it with --show 2031-05-01.".to_owned())
            })?;
            Kept {
                show,
                routines: Vec::new(),
                most: USUAL_MINUTES,
                weekdays: [true; 7],
                off: BTreeSet::new(),
                at: NaiveTime::from_hms_opt(19, 0, 0).unwrap_or_default(),
                spacing: String::new(),
                minutes: USUAL_MINUTES,
            }
        }
    };
    for named in &args.routines {
        let source = Source::find(named)?;
        if plan.routines.iter().any(|one| one.name == source.name) {
            return Err(Failure::Wrong(format!(
                "{} is named twice\n  Each routine of the show is named once.",
                shown(named)
            )));
        }
        let path =
            std::path::absolute(&source.origin).unwrap_or_else(|_| source.origin.clone().into());
        let origin = if super::shipped::find(&source.origin).is_some() {
            source.origin.clone()
        } else {
            path.to_string_lossy().into_owned()
        };
        plan.routines.push(Planned {
            name: source.name.clone(),
            origin,
            title: source.load(0)?.title,
        });
    }
    if let Some(show) = args.show {
        plan.show = show;
    }
    if let Some(most) = args.minutes_per_day {
        plan.most = most.min(MOST_MINUTES);
    }
    if !args.days.is_empty() {
        plan.weekdays = std::array::from_fn(|n| args.days.contains(&n));
    }
    plan.off.extend(args.off.iter().copied());
    if let Some(at) = args.at {
        plan.at = at;
    }
    Ok(plan)
}

fn act(logbook: &mut Logbook, planned: &Planned) -> Result<Act, Failure> {
    let routine = Source::find(&planned.origin)?.load(0)?;
    Ok(Act {
        coached: coaching::read(logbook, &planned.name)?,
        events: coaching::events(logbook, &planned.name)?,
        planned: planned.clone(),
        routine,
    })
}

impl Told<'_> {
    /// What to do on a day, a sentence for each routine.
    fn to_do(&self, day: &PlannedDay) -> Vec<String> {
        let several = self.acts.len() > 1;
        let mut sentences = Vec::new();
        for (act, share) in self.acts.iter().zip(&day.shares) {
            let name = &act.planned.title;
            let lead = if several {
                format!("{name}: ")
            } else {
                String::new()
            };
            if day.dress {
                sentences.push(format!(
                    "{lead}Dress rehearsal: the whole routine as on the night, with real cards, and then only what it showed."
                ));
                continue;
            }
            if share.minutes == 0 {
                continue;
            }
            let titles: Vec<String> = share
                .focus
                .iter()
                .filter_map(|step| act.routine.find_step(&step.0))
                .filter_map(|at| act.routine.stop(at))
                .map(|stop| format!("“{}”", stop.title))
                .collect();
            let minutes = if several {
                format!("{} minutes", share.minutes)
            } else {
                "What is weak then".to_owned()
            };
            sentences.push(match titles.as_slice() {
                [] => format!("{lead}{minutes}."),
                titles => format!("{lead}{minutes}, probably {}.", titles.join(", ")),
            });
        }
        sentences
    }

    /// The commands for a day.
    fn commands(&self, day: &PlannedDay) -> Vec<String> {
        self.acts
            .iter()
            .zip(&day.shares)
            .filter(|(_, share)| day.dress || share.minutes > 0)
            .map(|(act, share)| {
                let named = super::walk::quoted(&act.planned.origin);
                if day.dress {
                    format!("allroads rehearse {named} --drill dress")
                } else {
                    format!("allroads rehearse {named} --minutes {}", share.minutes)
                }
            })
            .collect()
    }

    fn show_title(&self) -> String {
        let titles: Vec<&str> = self.acts.iter().map(|act| &*act.planned.title).collect();
        format!("The show: {}", titles.join(", "))
    }

    fn calendar(&self) -> String {
        let entries: Vec<Entry> = self
            .plan
            .days
            .iter()
            .zip(&self.begins)
            .map(|(day, begins)| {
                let what = if day.dress {
                    "Dress rehearsal"
                } else {
                    "Rehearsal"
                };
                let titles: Vec<&str> = self
                    .acts
                    .iter()
                    .zip(&day.shares)
                    .filter(|(_, share)| day.dress || share.minutes > 0)
                    .map(|(act, _)| &*act.planned.title)
                    .collect();
                let mut words = self.to_do(day);
                words.extend(self.commands(day));
                if day.minutes > crate::coach::REST_AFTER {
                    words.push(text::REST.to_owned());
                }
                Entry {
                    uid: format!(
                        "rehearsal-{}-for-{}@allroads",
                        date(day.day),
                        self.kept.show
                    ),
                    from: *begins,
                    minutes: day.minutes,
                    title: format!("{what}: {}", titles.join(", ")),
                    words: words.join("\n"),
                }
            })
            .collect();
        calendar(&entries, (self.kept.show, &self.show_title()), self.now)
    }

    fn today(&self) -> NaiveDate {
        self.now.date_naive()
    }

    fn days_left(&self) -> i32 {
        super::coaching::day(self.kept.show).since(day_of(self.now))
    }
}
