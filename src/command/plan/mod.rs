//! `plan`: the rehearsals until a show.

mod json;
pub(super) mod kept;
mod text;

use super::coaching::{self, Coached, day_of};
use super::failure::{Failure, Outcome};
use super::machine::Machine;
use super::source::{Source, shown};
use super::written;
use crate::coach::{Events, MOST_MINUTES, Part, Plan, PlannedDay, Wish};
use crate::logbook::Logbook;
use crate::paper::calendar::{Entry, calendar};
use crate::routine::{Routine, StepId};
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime};
use clap::Args;
use kept::{Booked, Kept, Planned, date};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Minutes on one day when nobody said otherwise.
const USUAL_MINUTES: u32 = 20;

/// The performers who play a plan through are the same each time.
const SEED: u64 = 1;

/// What to plan for.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// The routines of the show: names, or paths; without any, the plan for the next show as it stands, or for the one
    /// on the day of --show, changed by what else is given
    #[arg(value_name = "ROUTINE")]
    pub routines: Vec<String>,
    /// The day of the show: 2031-05-01
    #[arg(long, value_name = "DATE", value_parser = day_named)]
    pub show: Option<NaiveDate>,
    /// The most minutes on one day (20); more than 60 are never planned
    #[arg(long, value_name = "N", value_parser = minutes, allow_negative_numbers = true)]
    pub minutes_per_day: Option<u32>,
    /// The days of the week that are free for it: mon,wed,sat (all)
    #[arg(long, value_name = "DAYS", value_delimiter = ',', value_parser = kept::weekday)]
    pub days: Vec<usize>,
    /// A day that is not free; may be given several times
    #[arg(long, value_name = "DATE", value_delimiter = ',', value_parser = day_named)]
    pub off: Vec<NaiveDate>,
    /// When rehearsals begin, for the calendar (19:00)
    #[arg(long, value_name = "TIME", value_parser = time_of_day)]
    pub at: Option<NaiveTime>,
    /// Write the rehearsals into this file, for a calendar; it is written anew each time
    #[arg(long, value_name = "FILE")]
    pub ics: Option<PathBuf>,
    /// Forget the plan; of several, the one for the day named with --show
    #[arg(long, conflicts_with_all = ["routines", "minutes_per_day", "days", "off", "at", "ics", "json"])]
    pub forget: bool,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// A day, as options take it.
pub(super) fn day_named(text: &str) -> Result<NaiveDate, String> {
    text.trim()
        .parse()
        .map_err(|_| "a day that there is, is needed, such as 2031-05-01".to_owned())
}

fn minutes(text: &str) -> Result<u32, String> {
    match text.trim().parse() {
        Ok(number) if number > 0 => Ok(number),
        Ok(_) | Err(_) => Err("a number of minutes is needed, such as 20".to_owned()),
    }
}

fn time_of_day(text: &str) -> Result<NaiveTime, String> {
    NaiveTime::parse_from_str(text, "%H:%M")
        .map_err(|_| "a time of day is needed, such as 19:00".to_owned())
}

/// A routine of the show with all that is known of it.
struct Act {
    planned: Planned,
    /// What a command calls it: its name, or its file's, in the folder where that lies.
    call: String,
    routine: Routine,
    coached: Coached,
    events: BTreeMap<StepId, Events>,
}

/// A plan with what it takes to tell it.
struct Told<'a> {
    kept: &'a Kept,
    /// The plans for other shows.
    others: &'a [Kept],
    /// The titles of routines that are planned no more.
    dropped: Vec<String>,
    acts: &'a [Act],
    plan: &'a Plan,
    now: DateTime<FixedOffset>,
    /// When each day's rehearsal begins.
    begins: Vec<DateTime<FixedOffset>>,
    /// Whether it is written down how the show went.
    played: bool,
    /// What is rehearsed on the same days for shows before.
    booked: &'a [Booked],
    /// The most minutes that were asked for, where that is more than is ever planned.
    too_long: Option<u32>,
}

/// Plans.
pub(super) fn run(
    args: &PlanArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    // A path that can be no calendar is told before anything is planned.
    if let Some(path) = &args.ics {
        written::could_be(path)?;
    }
    let mut logbook = machine.logbook()?;
    let before = kept::kept(&logbook)?;
    let now = machine.now();
    if args.forget {
        return forget(&mut logbook, &before, args.show, out);
    }
    let (mut wanted, others) = wanted(args, &mut logbook, &before, now.date_naive())?;
    let played = wanted.played(&logbook)?;
    if wanted.show < now.date_naive() {
        let how = if played {
            "How it went is written down."
        } else {
            "Tell how it went with `allroads shows add`."
        };
        return Err(Failure::Wrong(format!(
            "the show was on {}, and today is {}\n  {how} Plan the next one: allroads plan ROUTINE --show DATE.",
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
    let booked = kept::booked(&others, wanted.show, &logbook, now)?;
    let wish = Wish {
        season: wanted.season(&booked, &logbook, now)?,
        minutes: wanted.most,
    };
    let plan = crate::coach::plan(&wish, &parts, SEED)?;
    wanted.spacing = plan.spacing.word().to_owned();
    wanted.minutes = plan.minutes;
    wanted.dress = plan.days.last().map_or(0, |day| day.minutes);
    let plans: Vec<Kept> = others.iter().chain([&wanted]).cloned().collect();
    kept::keep(&mut logbook, &before, &plans)?;
    let told = Told {
        kept: &wanted,
        others: &others,
        dropped: kept::dropped(&before, &plans)
            .map(|one| one.title.clone())
            .collect(),
        acts: &acts,
        plan: &plan,
        now,
        begins: plan
            .days
            .iter()
            .map(|one| {
                let begins = machine.at(wanted.begins(one.day, one.minutes, &booked, now));
                // Of an hour that comes twice today the first may be over.
                if one.day == wish.season.today {
                    begins.max(now + kept::until_quarter(now))
                } else {
                    begins
                }
            })
            .collect(),
        played,
        booked: &booked,
        too_long: args.minutes_per_day.filter(|most| *most > MOST_MINUTES),
    };
    if let Some(path) = &args.ics {
        written::whole(path, &told.calendar())?;
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
    before: &[Kept],
    show: Option<NaiveDate>,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let gone = match (before, show) {
        ([], _) => {
            writeln!(out, "There is no plan.")?;
            return Ok(Outcome::Done);
        }
        ([only], None) => only,
        (_, show) => before
            .iter()
            .find(|plan| Some(plan.show) == show)
            .ok_or_else(|| which_show(before))?,
    };
    let stay: Vec<Kept> = before
        .iter()
        .filter(|plan| *plan != gone)
        .cloned()
        .collect();
    kept::keep(logbook, before, &stay)?;
    writeln!(
        out,
        "The plan for {} is forgotten; everything practised is kept.",
        gone.show
    )?;
    Ok(Outcome::Done)
}

/// Several shows are planned, and it was not said which is meant.
fn which_show(plans: &[Kept]) -> Failure {
    let shows: Vec<String> = plans
        .iter()
        .map(|plan| format!("{} ({})", plan.show, plan.titles()))
        .collect();
    Failure::Wrong(format!(
        "which show?\n  Planned: {}. Say it with --show DATE; a new show has its routines named.",
        shows.join("; ")
    ))
}

/// The plan that is asked for, and the others that stay: the one before, changed by what is given, or a new one. A routine is
/// planned for one show at a time, the one named last.
fn wanted(
    args: &PlanArgs,
    logbook: &mut Logbook,
    before: &[Kept],
    today: NaiveDate,
) -> Result<(Kept, Vec<Kept>), Failure> {
    // A show that is over is planned for no more, unless it is the only one.
    let coming: Vec<Kept> = before
        .iter()
        .filter(|plan| plan.show >= today || before.len() == 1)
        .cloned()
        .collect();
    let on = |date: NaiveDate| coming.iter().find(|plan| plan.show == date);
    let (mut plan, replaced) = if args.routines.is_empty() {
        let plan = match (coming.as_slice(), args.show) {
            ([], _) => {
                return Err(Failure::Wrong(
                    "there is no plan yet\n  Make one: allroads plan ROUTINE --show 2031-05-01"
                        .to_owned(),
                ));
            }
            ([only], _) => only,
            ([nearest, ..], None) => nearest,
            (_, Some(date)) => on(date).ok_or_else(|| which_show(&coming))?,
        };
        (plan.clone(), Some(plan.show))
    } else {
        let routines = named(args, logbook)?;
        let holds = |plan: &&Kept| routines.iter().any(|one| plan.holds(&one.name));
        let again = match coming.as_slice() {
            [only] => Some(only.show),
            several => several.iter().find(holds).map(|plan| plan.show),
        };
        let show = args.show.or(again).ok_or_else(|| {
            Failure::Wrong("when is the show?\n  Say it with --show 2031-05-01.".to_owned())
        })?;
        let plan = Kept {
            show,
            routines,
            most: USUAL_MINUTES,
            weekdays: [true; 7],
            off: BTreeSet::new(),
            at: NaiveTime::from_hms_opt(19, 0, 0).unwrap_or_default(),
            spacing: String::new(),
            minutes: USUAL_MINUTES,
            dress: 0,
        };
        (plan, on(show).map(|plan| plan.show))
    };
    let mut others: Vec<Kept> = coming
        .iter()
        .filter(|other| Some(other.show) != replaced)
        .cloned()
        .collect();
    for other in &mut others {
        other.routines.retain(|one| !plan.holds(&one.name));
    }
    others.retain(|other| !other.routines.is_empty());
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
    Ok((plan, others))
}

/// The routines named, each once; where their files lie is noted.
fn named(args: &PlanArgs, logbook: &mut Logbook) -> Result<Vec<Planned>, Failure> {
    let mut routines: Vec<Planned> = Vec::new();
    for named in &args.routines {
        let source = Source::find(named)?;
        if routines.iter().any(|one| one.name == source.name) {
            return Err(Failure::Wrong(format!(
                "{} is named twice\n  Each routine of the show is named once.",
                shown(named)
            )));
        }
        let title = source.load(0)?.title;
        if super::shipped::find(&source.origin).is_none() {
            let path = std::path::absolute(&source.origin)
                .unwrap_or_else(|_| source.origin.clone().into());
            kept::note_place(logbook, &source.name, &path.to_string_lossy())?;
        }
        routines.push(Planned {
            name: source.name,
            title,
        });
    }
    Ok(routines)
}

fn act(logbook: &mut Logbook, planned: &Planned) -> Result<Act, Failure> {
    let source = kept::found(logbook, planned)?;
    let routine = source.load(0)?;
    // Plans and calendars are read elsewhere too: no folder of this machine belongs into them.
    let file = Path::new(&source.origin).file_name().map_or_else(
        || source.origin.clone(),
        |name| name.to_string_lossy().into_owned(),
    );
    Ok(Act {
        call: super::walk::quoted(&file),
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
                "What is weakest by then".to_owned()
            };
            sentences.push(match titles.as_slice() {
                [] => format!("{lead}{minutes}."),
                titles => format!("{lead}{minutes}, probably {}.", titles.join(", ")),
            });
        }
        sentences
    }

    /// The commands for a day: questions of all routines in turns, or a dress rehearsal of each.
    fn commands(&self, day: &PlannedDay) -> Vec<String> {
        let calls: Vec<&str> = self
            .acts
            .iter()
            .zip(&day.shares)
            .filter(|(_, share)| day.dress || share.minutes > 0)
            .map(|(act, _)| act.call.as_str())
            .collect();
        if day.dress {
            let dress = |call| format!("allroads rehearse {call} --drill dress");
            return calls.into_iter().map(dress).collect();
        }
        let minutes: u32 = day.shares.iter().map(|share| share.minutes).sum();
        vec![format!(
            "allroads rehearse {} --minutes {minutes}",
            calls.join(" ")
        )]
    }

    /// Minutes on a day for shows before.
    fn elsewhere(&self, day: &PlannedDay) -> u32 {
        let there = self.booked.iter().filter(|other| other.day == day.day);
        there.map(|other| other.minutes).sum()
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
