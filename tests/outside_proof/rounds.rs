//! Cut anywhere, turn two, any number of times: by reasoning about one round, and by going round until nothing new comes.

use super::texts::{BALANCED, cut_and_turn_two};
use super::{any_cards, proved, routine};
use allroads::proof::{Ends, Roads, Settled, Verdict, Ways};

// Not true: one more may show than an even packet allows.
const AT_MOST_TWO: &str = "[{expr: showing(packet) <= 2}]";

fn by_induction() -> Ways {
    Ways {
        odds: false,
        ends: Ends::Never,
        ..Ways::default()
    }
}

fn going_round() -> Ways {
    Ways {
        induction: false,
        ..by_induction()
    }
}

#[test]
fn going_round_until_nothing_new_comes_proves_it() {
    for n in [2, 4, 10, 12] {
        let loaded = routine(&cut_and_turn_two(&any_cards(n), BALANCED));
        let proof = proved(&loaded, going_round());
        assert_eq!(proof.verdict, Verdict::SureFire, "{n} cards");
        assert_eq!(proof.roads, Roads::Unbounded);
        let gate = loaded.find_step("rounds").expect("the gate");
        assert_eq!(proof.loops, [(gate, Settled::Fixpoint)]);
    }
}

#[test]
fn reasoning_about_one_round_proves_it_for_packets_of_any_size() {
    for n in [2, 4, 10, 16, 20, 52, 200] {
        let loaded = routine(&cut_and_turn_two(&any_cards(n), BALANCED));
        let proof = proved(&loaded, by_induction());
        assert_eq!(proof.verdict, Verdict::SureFire, "{n} cards");
        assert_eq!(proof.roads, Roads::Unbounded);
        let gate = loaded.find_step("rounds").expect("the gate");
        assert_eq!(proof.loops, [(gate, Settled::Induction)], "{n} cards");
    }
}

#[test]
fn both_ways_agree_where_it_fails() {
    for n in [4, 8] {
        let loaded = routine(&cut_and_turn_two(&any_cards(n), AT_MOST_TWO));
        for ways in [by_induction(), going_round()] {
            let proof = proved(&loaded, ways);
            assert_eq!(proof.verdict, Verdict::Refuted, "{n} cards");
            let found = proof.counterexample.expect("a road");
            // Two rounds: a cut, once more, a cut, and enough.
            assert_eq!(super::replays(&loaded, &found), 4, "{n} cards");
        }
    }
}
