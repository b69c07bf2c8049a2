//! `rescue --json`: one object a line for each stray at each step.
//!
//! `{"routine","step","stray","happens","when","often","extent","parts":[{"verdict","share":{"num","den"}|null,"choices","mend","endings",
//! "chance":{"num","den"}|null,"sets"}]}`
//!
//! * `stray`: its name as files list it; `happens`: in words; `when`: `instead` of what the step asks for, or `after` it; `often`: whether
//!   the step lists it; `extent`: `all` roads and tables, or a `part` of them drawn by the seed;
//! * `verdict`: `safe`, `mend`, `out`, `lost` or `undecided`; `share`: of the roads on which the stray can happen, null where it is not
//!   known; `choices`: what is seen chosen in the stray where it is so; `sets`: how many sets of tables it is the verdict on;
//! * `mend`: what to do, null but for `mend`: `{"do","say","then"}` is a mend and what follows, `{"look","cases":[{"seen":[…],"then"}]}`
//!   a look and what follows by what is seen, null nothing more; `endings`: for `out`, the ids of the endings; `chance`: for `lost`, that
//!   it goes well all the same, null where it was not worked out.

use super::text;
use crate::rescue::{Extent, Ground, Part, Plan, Row, Verdict};
use crate::routine::Routine;
use num_rational::BigRational;
use serde::Serialize;

/// A row.
#[derive(Serialize)]
pub(super) struct RowJson<'a> {
    routine: &'a str,
    step: &'a str,
    stray: &'a str,
    happens: String,
    when: &'static str,
    often: bool,
    extent: &'static str,
    parts: Vec<PartJson<'a>>,
}

#[derive(Serialize)]
struct PartJson<'a> {
    verdict: &'static str,
    share: Option<Fraction>,
    choices: Vec<String>,
    mend: Option<PlanJson<'a>>,
    endings: Option<Vec<&'a str>>,
    chance: Option<Fraction>,
    sets: usize,
}

/// A fraction in decimal strings.
#[derive(Serialize)]
struct Fraction {
    num: String,
    den: String,
}

impl Fraction {
    fn of(number: &BigRational) -> Self {
        Self {
            num: number.numer().to_string(),
            den: number.denom().to_string(),
        }
    }
}

#[derive(Serialize)]
#[serde(untagged)]
enum PlanJson<'a> {
    Mend {
        #[serde(rename = "do")]
        mend: &'a str,
        say: String,
        then: Option<Box<PlanJson<'a>>>,
    },
    Look {
        look: &'a str,
        cases: Vec<CaseJson<'a>>,
    },
}

#[derive(Serialize)]
struct CaseJson<'a> {
    seen: Vec<String>,
    then: Option<PlanJson<'a>>,
}

fn plan<'a>(routine: &'a Routine, of: &Plan) -> Option<PlanJson<'a>> {
    match of {
        Plan::Done => None,
        Plan::Mend(mend, rest) => {
            let mend = routine.mends.get(*mend)?;
            Some(PlanJson::Mend {
                mend: &mend.id.0,
                say: mend.say.open(),
                then: plan(routine, rest).map(Box::new),
            })
        }
        Plan::Look(mend, cases) => Some(PlanJson::Look {
            look: &routine.mends.get(*mend)?.id.0,
            cases: cases
                .iter()
                .map(|(seen, then)| CaseJson {
                    seen: text::seen(routine, seen),
                    then: plan(routine, then),
                })
                .collect(),
        }),
    }
}

impl<'a> RowJson<'a> {
    /// Of a row.
    pub(super) fn of(ground: &Ground, routine: &'a Routine, row: &Row) -> Self {
        let case = &ground.cases()[row.case];
        Self {
            routine: &routine.title,
            step: routine.stop(case.stop).map_or("", |stop| &*stop.id.0),
            stray: routine.stray_id(case.stray),
            happens: ground.told(case),
            when: case.when.word(),
            often: case.often,
            extent: match row.extent {
                Extent::All => "all",
                Extent::Part => "part",
            },
            parts: row.parts.iter().map(|p| part(routine, p)).collect(),
        }
    }
}

fn part<'a>(routine: &'a Routine, part: &Part) -> PartJson<'a> {
    let (verdict, mend, endings, chance) = match &part.verdict {
        Verdict::Safe => ("safe", None, None, None),
        Verdict::Mend(of) => ("mend", plan(routine, of), None, None),
        Verdict::Out(endings) => {
            let ids = endings
                .iter()
                .filter_map(|n| Some(&*routine.endings.get(*n)?.id.0));
            ("out", None, Some(ids.collect()), None)
        }
        Verdict::Lost { chance } => ("lost", None, None, chance.as_ref().map(Fraction::of)),
        Verdict::Undecided => ("undecided", None, None, None),
    };
    PartJson {
        verdict,
        share: part.share.as_ref().map(Fraction::of),
        choices: part.choices.iter().map(|c| c.show(routine)).collect(),
        mend,
        endings,
        chance,
        sets: part.sets,
    }
}
