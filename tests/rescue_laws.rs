//! Laws of verdicts, on made-up routines: what is called safe is safe however the road is played, what mends it mends it, and whoever sees
//! less is never better off.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use allroads::proof::Limits;
use allroads::rescue::{
    Case, Deed, Extent, Ground, Plan, Rescuer, Row, Verdict, Wanted, When, rows,
};
use allroads::roads::{Draw, Sighted, domain, sample, seen, take};
use allroads::routine::{Routine, Scene, Value, World, load};
use proptest::prelude::*;
use std::collections::BTreeMap;

const LIMITS: Limits<'static> = Limits {
    bytes: 1 << 30,
    stop: &|| false,
    progress: &|_| (),
};

/// Six cards of any colours, some dealt or lifted off, and riffled back in.
#[derive(Debug, Clone)]
struct MadeUp {
    reds: [bool; 6],
    deals: bool,
    claim: usize,
    mends: usize,
}

const CLAIMS: [&str; 3] = [
    "blocks: {pile: packet, of: 2, trait: colour}",
    "expr: 'colour(card(packet, 1)) != colour(card(packet, -1))'",
    "expr: 'colour(card(packet, 1)) == \"red\"'",
];

const MENDS: [&str; 3] = [
    "  - {id: one-under, say: That one goes under., do: [{cut: {pile: packet, at: 1}}], rank: 1}\n",
    "  - {id: look-first, say: Let me see., sees: [{trait: {pile: packet, at: 1, trait: colour}}], \
     do: [{cut: {pile: packet, at: 1}}], rank: 1}\n",
    "  - {id: over, say: The other way., do: [{reverse: packet}], rank: 1}\n  \
     - {id: last-first, say: And this one first., sees: [{trait: {pile: packet, at: -1, trait: colour}}], \
     do: [{cut: {pile: packet, at: size(packet) - 1}}], rank: 2}\n",
];

impl MadeUp {
    /// The routine; whether the performer sees how many go off.
    fn routine(&self, sees: bool) -> Routine {
        let cards: Vec<&str> = ["2C 2H", "3C 3H", "4S 4D", "5S 5D", "6C 6H", "7S 7D"]
            .iter()
            .zip(self.reds)
            .map(|(both, red)| {
                both.split_once(' ')
                    .map(|(b, r)| if red { r } else { b })
                    .unwrap()
            })
            .collect();
        let cards = cards.join(" ");
        let sees = if sees { "" } else { "seen: nothing, " };
        let act = if self.deals {
            "deal: {from: packet, to: [off], count: many}"
        } else {
            "move: {from: packet, to: off, count: many}"
        };
        let text = format!(
            "allroads: 1\ntitle: Made up\ncards: {{packet: {{list: \"{cards}\"}}}}\npiles: [off]\nsteps:\n  \
             - id: some\n    fork: {{name: many, {sees}number: {{from: 2, to: 4}}}}\n    do: [{{{act}}}]\n  \
             - id: push\n    fork: {{name: shove, seen: nothing, riffle: {{left: off, right: packet}}}}\n    \
             do: [{{riffle: {{left: off, right: packet, to: packet, by: shove}}}}]\n\
             finale:\n  id: end\n  claims: [{{{}}}]\nmends:\n{}",
            CLAIMS[self.claim], MENDS[self.mends],
        );
        load(&text, "made up", 0).unwrap_or_else(|troubles| {
            let told: String = troubles.iter().map(ToString::to_string).collect();
            panic!("{text}\n{told}")
        })
    }
}

fn made_up() -> impl Strategy<Value = MadeUp> {
    let claims = 0..CLAIMS.len();
    // Colours by turns are what most such routines begin with.
    let reds = prop_oneof![
        Just([true, false, true, false, true, false]),
        any::<[bool; 6]>(),
    ];
    (reds, any::<bool>(), claims, 0..MENDS.len()).prop_map(|(reds, deals, claim, mends)| MadeUp {
        reds,
        deals,
        claim,
        mends,
    })
}

fn table(ground: &Ground) -> Vec<Row> {
    let rows = rows(ground, Wanted::default(), &LIMITS);
    for row in &rows {
        assert_eq!(row.extent, Extent::All);
        assert!(
            row.parts
                .iter()
                .all(|part| part.verdict != Verdict::Undecided)
        );
    }
    rows
}

/// The verdict on what was seen chosen, where that alone decides.
fn decided<'r>(row: &'r Row, chosen: Option<&Value>) -> Option<&'r Verdict> {
    if let [one] = row.parts.as_slice() {
        return Some(&one.verdict);
    }
    let chosen = chosen?;
    let mut fitting = row
        .parts
        .iter()
        .filter(|part| part.choices.contains(chosen));
    let one = fitting.next()?;
    fitting.next().is_none().then_some(&one.verdict)
}

/// A road played on at random, step by step; whether every claim came true.
fn played(ground: &Ground, mut world: World, draw: &mut Draw) -> bool {
    let routine = ground.routine();
    while ground.is_own(world.at) {
        let stop = routine.stop(world.at).unwrap();
        let choice = domain(routine, &world)
            .unwrap()
            .map(|open| open.sample(draw));
        world = take(routine, &world, choice.as_ref()).unwrap().world;
        let scene = Scene {
            routine,
            world: &world,
        };
        if stop
            .claims
            .iter()
            .any(|claim| claim.kind.holds(scene) != Ok(true))
        {
            return false;
        }
    }
    true
}

/// What a plan leads to on the cards that lie there; looks show what lies there.
fn followed(rescuer: &Rescuer<'_>, plan: &Plan, world: &World) -> World {
    match plan {
        Plan::Done => world.clone(),
        Plan::Mend(mend, rest) => {
            let after = rescuer.done(world, &Deed::Mend(*mend)).unwrap();
            followed(rescuer, rest, &after)
        }
        Plan::Look(mend, cases) => {
            let routine = rescuer.ground().routine();
            let shown: Vec<Option<Sighted>> = seen(routine, world, &routine.mends[*mend].looks)
                .into_iter()
                .map(Result::ok)
                .collect();
            let (_, rest) = cases.iter().find(|(seen, _)| *seen == shown).unwrap();
            followed(rescuer, rest, world)
        }
    }
}

/// How bad it is: 0 safe, else so many mends, at last lost.
fn rank(verdict: &Verdict) -> usize {
    match verdict {
        Verdict::Safe => 0,
        Verdict::Mend(plan) => plan.length().max(1),
        Verdict::Lost { .. } => usize::MAX,
        Verdict::Out(_) | Verdict::Undecided => panic!("{verdict:?}"),
    }
}

/// By step, stray and piles: how bad it is at worst.
fn worst(ground: &Ground) -> BTreeMap<String, usize> {
    let mut worst = BTreeMap::new();
    for row in table(ground) {
        let case = &ground.cases()[row.case];
        let name = format!(
            "{} {:?} {:?} {:?}",
            case.stop.0, case.stray, case.when, case.piles
        );
        let parts = row.parts.iter().map(|part| rank(&part.verdict));
        worst.insert(name, parts.max().unwrap());
    }
    worst
}

/// The world in which a case happens on a road: before its step, or after it.
fn there(case: &Case, routine: &Routine, seed: u64) -> Option<World> {
    let road = sample(routine, seed).unwrap();
    let walked = road.walked.iter().find(|walked| walked.stop == case.stop)?;
    Some(match case.when {
        When::Instead => walked.before.clone(),
        When::After => walked.after.clone(),
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn what_is_safe_stays_so_however_it_is_played_and_what_mends_makes_it_so(made_up in made_up(), seed in 0..1000_u64) {
        let routine = made_up.routine(true);
        let ground = Ground::new(&routine);
        let rescuer = Rescuer::new(&ground, true, &LIMITS);
        let mut draw = Draw::for_step(seed, "play", 1);
        for row in table(&ground) {
            let case = &ground.cases()[row.case];
            for n in 0..12 {
                let Some(before) = there(case, &routine, seed + n) else { continue };
                if !case.makes_sense(&ground.enter(before.clone())) {
                    continue;
                }
                let Ok(happened) = rescuer.happen(case, before, |open| open.sample(&mut draw)) else { continue };
                let chosen = happened.sights.iter().find_map(|sighted| match sighted {
                    Sighted::Choice(_, value) => Some(value),
                    _ => None,
                });
                let world = match decided(&row, chosen) {
                    Some(Verdict::Safe | Verdict::Out(_)) => happened.world,
                    Some(Verdict::Mend(plan)) => followed(&rescuer, plan, &happened.world),
                    Some(Verdict::Lost { .. } | Verdict::Undecided) | None => continue,
                };
                for _ in 0..6 {
                    prop_assert!(
                        played(&ground, world.clone(), &mut draw),
                        "{}: {:?}", ground.told(case), row.parts
                    );
                }
            }
        }
    }

    #[test]
    fn whoever_sees_less_is_never_better_off(made_up in made_up()) {
        let [seeing, blind] = [true, false].map(|sees| Ground::new(&made_up.routine(sees)));
        let (seeing, blind) = (worst(&seeing), worst(&blind));
        prop_assert!(seeing.len() > 10);
        for (case, rank) in &blind {
            if let Some(seen) = seeing.get(case) {
                prop_assert!(seen <= rank, "{case}: {seen} with the number seen, {rank} without");
            }
        }
        // Nor is whoever does not see where a cut was made.
        let routine = made_up.routine(true);
        let ground = Ground::new(&routine);
        let mut by_stray: BTreeMap<(u16, &str), usize> = BTreeMap::new();
        for row in table(&ground) {
            let case = &ground.cases()[row.case];
            let rank = row.parts.iter().map(|part| rank(&part.verdict)).max().unwrap();
            let here = by_stray.entry((case.stop.0, routine.stray_id(case.stray))).or_insert(0);
            *here = rank.max(*here);
        }
        let mut compared = 0;
        for ((stop, stray), rank) in &by_stray {
            if *stray == "cuts-again" {
                let unseen = by_stray[&(*stop, "cuts-unseen")];
                prop_assert!(*rank <= unseen, "step {stop}: {rank} seen, {unseen} not");
                compared += 1;
            }
        }
        prop_assert!(compared > 0);
    }
}
