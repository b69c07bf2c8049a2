//! What makes it safe again: what is keyed is read, looked at or done, and marked on every table that fits.

use super::asking::Kept;
use super::keyed::{Keyed, Look, Reading, read};
use super::tables::{self, Worth};
use super::{Phase, Rescue, Then, chance, telling};
use crate::drill::doing::acts_in_words;
use crate::drill::marking::GIVEN_UP;
use crate::drill::question::Kind;
use crate::drill::sighting::looked;
use crate::drill::spoken::prompt::{MendAsked, Sound, SpokenEffect};
use crate::drill::spoken::words;
use crate::rescue::{Deed, Verdict};
use crate::routine::{Expr, Millis, Scene, Sight, SightKind};
use crate::table::PileId;

/// Nothing is to be done.
const NOTHING: [&str; 4] = ["nothing", "leave it", "done", "no more"];

impl Rescue {
    pub(super) fn ask_mend(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.since = now;
        self.mend_prompt(now);
        let speech = words::prompter("Which mend, and with which words?");
        let mut effects = vec![SpokenEffect::Play(Sound::Ask)];
        effects.extend(self.say(vec![speech]));
        effects
    }

    fn mend_prompt(&mut self, now: Millis) {
        let Some(case) = self.case().cloned() else {
            return;
        };
        let scene = Scene {
            routine: self.ground.routine(),
            world: &self.mending.real,
        };
        let mut seen = telling::seen_of(&self.ground, &case, &self.astray);
        seen.extend(self.mending.seen.iter().cloned());
        let asked = MendAsked {
            along: self.along(now, None),
            stop: case.stop,
            told: self.ground.told(&case),
            seen,
            mends: self
                .ground
                .routine()
                .mends
                .iter()
                .map(|mend| {
                    (
                        mend.id.to_string(),
                        acts_in_words(scene, &mend.acts),
                        mend.say.open(),
                    )
                })
                .collect(),
        };
        self.phase = Phase::Mend(asked);
    }

    /// The pile meant where none is named: the one that the stray happened to, or else the one that holds most.
    fn usual_pile(&self) -> PileId {
        let own = self.case().and_then(|case| case.piles.first().copied());
        let table = &self.mending.real.table;
        own.unwrap_or_else(|| {
            let mut most = (0, PileId(0));
            for (pile, cards) in table.piles() {
                if cards.len() > most.0 {
                    most = (cards.len(), pile);
                }
            }
            most.1
        })
    }

    fn keyed(&self, text: &str) -> Result<Vec<Keyed>, String> {
        let plain = text.trim().to_lowercase();
        if NOTHING.contains(&plain.as_str()) || GIVEN_UP.contains(&plain.as_str()) {
            return Ok(Vec::new());
        }
        let sizes =
            |pile: PileId| u16::try_from(self.mending.real.table.size(pile)).unwrap_or(u16::MAX);
        let reading = Reading {
            routine: &self.routine,
            usual: self.usual_pile(),
            sizes: &sizes,
        };
        read(reading, text)
    }

    pub(super) fn mended(&mut self, text: &str, now: Millis) -> Vec<SpokenEffect> {
        let unread = |how: String| vec![SpokenEffect::Unread(how)];
        let mut keyed = match self.keyed(text) {
            Ok(keyed) => keyed,
            Err(how) => return unread(how),
        };
        let looks = match keyed.last() {
            Some(Keyed::Look(look)) => Some(*look),
            Some(Keyed::Do(_)) | None => None,
        };
        if looks.is_some() {
            keyed.pop();
        }
        let mut deeds: Vec<Deed> = Vec::with_capacity(keyed.len());
        for one in keyed {
            match one {
                Keyed::Do(deed) => deeds.push(deed),
                Keyed::Look(_) => {
                    return unread(
                        "Key a look last: what it shows is told, and then the rest is asked for."
                            .to_owned(),
                    );
                }
            }
        }
        let after = match tables::all_done(&self.ground, &self.mending.real, &deeds) {
            Ok(after) => after,
            Err(fault) => return unread(format!("That cannot be done here: {fault}.")),
        };
        match looks {
            Some(look) => self.looks(look, (text, &deeds, after), now),
            None => self.made(text, &deeds, after, now),
        }
    }

    /// A look, after what was keyed before it.
    fn looks(
        &mut self,
        at: Look,
        (text, deeds, after): (&str, &[Deed], crate::routine::World),
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let sights: Vec<Sight> = match at {
            Look::Mend(mend) => self
                .ground
                .routine()
                .mends
                .get(mend)
                .map_or_else(Vec::new, |mend| mend.looks.clone()),
            Look::Card(pile, place) => vec![Sight {
                kind: SightKind::Card {
                    pile,
                    at: Expr::number(i64::from(place.0)),
                },
                line: 0,
            }],
        };
        let mut tables = Vec::with_capacity(self.mending.tables.len());
        for table in &self.mending.tables {
            match tables::all_done(&self.ground, table, deeds) {
                Ok(done) => tables.push(done),
                Err(_) => {
                    return vec![SpokenEffect::Unread(
                        "On some table that fits what you saw that cannot be done.".to_owned(),
                    )];
                }
            }
        }
        let (shown, fitting) = tables::look(&self.ground, &after, &tables, &sights);
        if shown.is_empty() {
            return vec![SpokenEffect::Unread(
                "There is nothing to see there.".to_owned(),
            )];
        }
        let scene = Scene {
            routine: self.ground.routine(),
            world: &after,
        };
        let lines: Vec<String> = shown
            .iter()
            .map(|one| looked(scene, &sights, one))
            .collect();
        self.mending.seen.extend(lines.iter().cloned());
        self.mending.given.push(text.trim().to_owned());
        self.mending.real = after;
        self.mending.tables = fitting;
        self.mend_prompt(now);
        self.say(vec![words::prompter(&lines.join(" "))])
    }

    /// What was keyed is done, and marked.
    fn made(
        &mut self,
        text: &str,
        deeds: &[Deed],
        after: crate::routine::World,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let Some(case) = self.case().cloned() else {
            return Vec::new();
        };
        let worth = tables::worth(
            &self.ground,
            &self.mending.real,
            &self.mending.tables,
            deeds,
        );
        let right = worth == Worth::Safe;
        let sure = match &self.astray.verdict {
            Verdict::Mend(plan) => telling::plan(&self.ground, &self.astray.real, plan),
            Verdict::Safe | Verdict::Out(_) | Verdict::Lost { .. } | Verdict::Undecided => {
                "nothing".to_owned()
            }
        };
        self.mending.given.push(text.trim().to_owned());
        let given = self.mending.given.join("; ");
        let question = format!("{} What makes it safe?", self.ground.told(&case));
        let detail = chance::name_of(&self.ground, &case);
        let kept = Kept {
            kind: Kind::Mend,
            stop: case.stop,
            detail,
            question: &question,
            expected: &sure,
            given: &given,
            right,
        };
        let effect = self.keep(&kept, now);
        let fit = self.mending.tables.len();
        let tables = match fit {
            1 => "the one table that fits what you saw".to_owned(),
            n => format!("all {n} tables that fit what you saw"),
        };
        let mut lines = match worth {
            Worth::Safe => vec![format!("Safe now, on {tables}.")],
            Worth::Luck => vec![format!(
                "It happens to be safe on the cards that lie here, but not on {tables}. That is luck."
            )],
            Worth::Not => vec!["That does not make it safe.".to_owned()],
        };
        match worth {
            Worth::Safe => {
                let said: Vec<String> = deeds
                    .iter()
                    .filter_map(|deed| match deed {
                        Deed::Mend(n) => self.routine.mends.get(*n),
                        Deed::Move(_) => None,
                    })
                    .map(|mend| format!("With: “{}”", mend.say.open()))
                    .collect();
                lines.extend(said);
            }
            Worth::Luck | Worth::Not => lines.push(format!("Sure is: {sure}.")),
        }
        let packets = self.before_and_after((!deeds.is_empty()).then_some(&after));
        self.mending.real = after;
        self.told(effect, right, (lines, packets), Then::Onward, now)
    }
}
