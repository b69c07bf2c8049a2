use super::super::got::Got;
use super::super::search::MOST_STEPS;
use super::*;
use crate::roads::{Choices, sample};
use std::collections::BTreeMap;

/// The tables at the end of the road with the slips that lead there, each as likely as told.
fn ends(case: &Case<'_>, looking: Looking) -> BTreeMap<String, (String, BTreeMap<String, String>)> {
    let walk = Walk::new(case, looking);
    assert!(walk.complete);
    walk.ends()
        .iter()
        .map(|(state, tag)| {
            let slips = tag
                .slips
                .iter()
                .map(|(id, likely)| {
                    let slip = format!("{:?}", walk.slip(*id).unwrap());
                    (slip, format!("{likely:.9e}"))
                })
                .collect();
            let right = format!("{:.9e}", tag.right);
            (format!("{state:?}"), (right, slips))
        })
        .collect()
}

#[test]
fn leaps_lead_every_slip_to_where_its_steps_lead_it() {
    for shipped in crate::command::SHIPPED {
        let routine = crate::routine::load(shipped.text, shipped.name, 0).unwrap();
        let mut slipped = 0;
        for seed in 0..12 {
            let road = sample(&routine, seed).unwrap();
            let packet = Got::default();
            let case = Case {
                routine: &routine,
                start: &road.walked[0].before,
                choices: &Choices::of_road(&routine, &road.walked, |_| true),
                until: None,
                got: &packet,
                most_steps: MOST_STEPS,
            };
            let leapt = ends(&case, Looking::ForSlips(None));
            let stepped = ends(&case, Looking::ForPairs);
            assert_eq!(leapt, stepped, "{} {seed}", shipped.name);
            slipped += leapt.len();
        }
        assert!(slipped > 100, "{}: {slipped}", shipped.name);
    }
}

#[test]
fn a_road_of_more_rounds_than_anybody_goes_is_given_up() {
    let text = "allroads: 1\ntitle: Round and round\nlang: en-GB\ncards:\n  packet: {list: \"AC 2C 3C 4C 5C\"}\nsteps:\n  - again:\n      name: more\n      \
                says: Again?\n      steps:\n        - id: cut\n          title: The cut\n          do:\n            - cut: {pile: packet, at: 2}\n\
                finale:\n  id: end\n  title: The end\n  claims:\n    - says: five cards lie there\n      expr: size(packet) == 5\n";
    let routine = crate::routine::load(text, "round.yaml", 0).unwrap();
    let ends_after = |rounds: &str| {
        let packet = Got::default();
        let case = Case {
            routine: &routine,
            start: &crate::roads::unknown_start(&routine),
            choices: &Choices::read(&routine, [rounds]).unwrap(),
            until: None,
            got: &packet,
            most_steps: MOST_STEPS,
        };
        Walk::new(&case, Looking::ForSlips(None)).complete
    };
    assert!(ends_after("more=30"));
    assert!(!ends_after("more=4000000"));
}
