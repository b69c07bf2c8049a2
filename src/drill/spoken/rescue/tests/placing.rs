//! "Where are we?": every step before which the table can look so.

use super::*;

/// Every road of a routine, plainly: what was said so far, how the table looks, and which step comes next.
type Seen = (Vec<Sighted>, whereabouts::Look);

fn all_moments(ground: &Ground) -> Option<HashMap<Seen, BTreeSet<StopIndex>>> {
    let routine = ground.routine();
    let mut found: HashMap<Seen, BTreeSet<StopIndex>> = HashMap::new();
    let mut waiting = vec![(unknown_start(routine), Vec::<Sighted>::new())];
    let mut met: HashSet<(World, Vec<Sighted>)> = HashSet::new();
    while let Some((world, said)) = waiting.pop() {
        if routine.stop(world.at).is_none() || !met.insert((world.clone(), said.clone())) {
            continue;
        }
        if met.len() > 60_000 {
            return None;
        }
        found
            .entry((said.clone(), whereabouts::look(ground, &world)))
            .or_default()
            .insert(world.at);
        let choices: Vec<Option<Value>> = match domain(routine, &world) {
            Ok(Some(open)) => open.branches().map(Some).collect(),
            Ok(None) => vec![None],
            Err(_) => Vec::new(),
        };
        for choice in choices {
            if let Ok(taken) = take(routine, &world, choice.as_ref()) {
                let mut said = said.clone();
                said.extend(taken.sights.into_iter().filter(|one| {
                    matches!(
                        one,
                        Sighted::Choice(..) | Sighted::Reply(..) | Sighted::Part { .. }
                    )
                }));
                waiting.push((taken.world, said));
            }
        }
    }
    Some(found)
}

#[test]
fn where_are_we_takes_every_step_before_which_the_table_can_look_so_and_no_other() {
    let (mut asked, mut either) = (0, 0);
    for number in 1..=40 {
        let routine = shaky(number);
        if !routine.shuffled.is_empty() {
            continue;
        }
        let ground = Ground::new(&routine);
        let Some(moments) = all_moments(&ground) else {
            continue;
        };
        for seed in 0..3 {
            let road = sample(&routine, seed).unwrap();
            let right = whereabouts::right_steps(&ground, &road.walked);
            let mut said = Vec::new();
            for (walked, right) in road.walked.iter().zip(&right) {
                let world = ground.enter(walked.before.clone());
                let plainly = &moments[&(said.clone(), whereabouts::look(&ground, &world))];
                if !right.is_empty() {
                    assert_eq!(right, plainly, "{number} {seed} {:?}", walked.stop);
                    asked += 1;
                    either += usize::from(right.len() > 1);
                }
                said.extend(
                    walked
                        .sights
                        .iter()
                        .filter(|one| {
                            matches!(
                                one,
                                Sighted::Choice(..) | Sighted::Reply(..) | Sighted::Part { .. }
                            )
                        })
                        .cloned(),
                );
            }
        }
    }
    assert!(asked > 60 && either > 5, "{asked} {either}");
}
