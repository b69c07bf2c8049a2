//! The packet at the end, typed in where the ending did not come true.

use super::*;

/// The real packet of the pile asked for, every card by name.
fn packet(routine: &Routine, hands: &Hands, table: &Table) -> Vec<String> {
    let Phase::Packet(asked, _) = &hands.phase else {
        panic!("no packet is asked for");
    };
    let cards = table.world.table.pile(asked.pile);
    cards
        .iter()
        .map(|laid| {
            let print = table.world.face_of(laid.card()).unwrap();
            routine.pack.short(print)
        })
        .collect()
}

#[test]
fn a_packet_that_could_be_is_right_whatever_the_hands_did_freely() {
    let (mut told, mut unknown) = (0, 0);
    for routine in shipped() {
        for seed in 0..6 {
            let mut judged = false;
            let went = perform(&routine, Drill::Hands, 0, seed, |hands, table| {
                judged = true;
                let mut effects = hands.update(&Deed::Back, Millis(1));
                while matches!(hands.phase, Phase::Packet(..)) {
                    let typed = packet(&routine, hands, table).join(" ");
                    effects.extend(hands.update(&Deed::Answer(typed), Millis(2)));
                }
                match &hands.phase {
                    Phase::Verdict(verdict) => assert!(verdict.right),
                    // Where too many tables could be, nothing is claimed either way.
                    Phase::Where(lost) => {
                        assert!(hands.road.all.worlds().is_none(), "{}", routine.title);
                        assert_eq!(lost.found, "The cards alone do not tell.");
                        unknown += 1;
                        hands.update(&Deed::Answer("1".into()), Millis(3));
                    }
                    other => panic!("{} {seed}: {other:?}", routine.title),
                }
                told += 1;
                vec![Deed::Go]
            });
            assert!(judged && went.summary.roads == 1);
        }
    }
    assert!(unknown * 4 < told, "{unknown} of {told}");
}

#[test]
fn a_packet_that_no_road_leads_to_is_found_and_the_step_that_is_named_is_weak() {
    let mut found = 0;
    for routine in shipped() {
        let went = perform(&routine, Drill::Hands, 0, 2, |hands, table| {
            hands.update(&Deed::Back, Millis(1));
            let mut cards = packet(&routine, hands, table);
            // The two top cards of the largest pile lie the wrong way round.
            cards.swap(0, 1);
            hands.update(&Deed::Answer(cards.join(" ")), Millis(2));
            while matches!(hands.phase, Phase::Packet(..)) {
                let cards = packet(&routine, hands, table);
                hands.update(&Deed::Answer(cards.join(" ")), Millis(2));
            }
            match &hands.phase {
                // In a shuffled deck, or after a shuffle, it could lie so all the same; or a slip is named at once.
                Phase::Verdict(verdict) => {
                    found += usize::from(!verdict.right);
                    vec![Deed::Go]
                }
                _ => {
                    found += 1;
                    vec![Deed::Answer("2".into())]
                }
            }
        });
        if let Some(slip) = went.kept.iter().find(|kept| kept.kind == "slip") {
            assert!(!slip.right);
            // Eyes on the cards: what is found is said too.
            let said = |words: &str| went.said.iter().any(|one| one.words.contains(words));
            assert!(said("will come back. Do it a few times by itself"));
            assert_eq!(went.summary.weak[0].step, slip.step);
        }
    }
    assert!(found > 0);
}

/// Hands that lift the first block that should be dealt one by one.
struct Lifting {
    lifted: bool,
}

impl Shuffler for Lifting {
    fn shuffle(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        by: crate::routine::NameId,
    ) -> Result<(), crate::routine::Fault> {
        crate::roads::AsChosen.shuffle(routine, world, mv, by)
    }
    fn carry_out(&mut self, world: &mut World, mv: &Move) -> Result<(), crate::routine::Fault> {
        if let Move::Deal {
            from,
            to,
            count: count @ 3..,
            up: None,
        } = mv
            && let [to] = to.as_slice()
            && !self.lifted
        {
            self.lifted = true;
            let (from, to, count) = (*from, *to, *count);
            let block = Move::Block {
                from,
                take: End::Top,
                count,
                to,
                put: End::Top,
                order: Kept::Kept,
            };
            return crate::roads::do_plainly(world, &block);
        }
        crate::roads::do_plainly(world, mv)
    }
}

#[test]
fn a_block_lifted_instead_of_dealt_is_named_with_its_step_and_kept_as_a_slip() {
    let (mut lifted, mut named) = (0, 0);
    for routine in shipped()
        .iter()
        .filter(|routine| routine.shuffled.is_empty())
    {
        for seed in 0..4 {
            let hands = Hands::new(
                Arc::clone(routine),
                plan(&[Drill::Hands], 0, seed),
                Drill::Hands,
            );
            let mut hands = hands.unwrap();
            let mut table = Table::laid(routine, &hands, seed + 999);
            let (mut clumsy, mut at) = (Lifting { lifted: false }, None);
            let mut kept = Vec::new();
            for now in 1..500 {
                let deed = match hands.phase.clone() {
                    Phase::Step(_) => {
                        let next = hands.road.next.clone().unwrap();
                        let value = match &next.decided {
                            Decided::Nobody => None,
                            Decided::Spoken(value) | Decided::Thought(value) => Some(value.clone()),
                            Decided::Free => {
                                let open = domain(routine, &table.world).unwrap().unwrap();
                                Some(open.sample(&mut table.choices))
                            }
                        };
                        let before = clumsy.lifted;
                        table.world = crate::roads::pass_by_hand(
                            routine,
                            &table.world,
                            value.as_ref(),
                            &mut clumsy,
                        )
                        .unwrap();
                        if clumsy.lifted && !before {
                            at = routine.stop(next.stop).map(|stop| stop.id.clone());
                        }
                        Deed::Go
                    }
                    Phase::Judge(_) => Deed::Back,
                    Phase::Packet(..) => Deed::Answer(packet(routine, &hands, &table).join(" ")),
                    Phase::Where(_) => Deed::Answer(String::new()),
                    Phase::Done(_) => break,
                    Phase::Which(_, meant, _) => Deed::Answer(
                        (meant.iter().position(|told| table.answers(told)).unwrap() + 1)
                            .to_string(),
                    ),
                    Phase::Ask(_) => Deed::Answer("-".into()),
                    Phase::SetUp(_) | Phase::Answered(_) | Phase::Marked(_) | Phase::Verdict(_) => {
                        Deed::Go
                    }
                };
                for effect in hands.update(&deed, Millis(now)) {
                    if let SpokenEffect::Keep(answered) = effect {
                        kept.push(answered);
                    }
                }
            }
            let Some(at) = at else { continue };
            lifted += 1;
            named += usize::from(kept.iter().any(|one| {
                one.kind == "slip" && one.step == at && one.given.contains("as a block")
            }));
        }
    }
    assert!(lifted >= 4, "{lifted}");
    assert!(named * 10 >= lifted * 8, "{named} of {lifted}");
}

#[test]
fn colours_and_unknown_cards_do_for_a_packet() {
    let routine = shipped()
        .into_iter()
        .find(|routine| routine.shuffled.is_empty())
        .unwrap();
    perform(&routine, Drill::Hands, 0, 1, |hands, _| {
        hands.update(&Deed::Back, Millis(1));
        let unread = hands.update(&Deed::Answer("7h xyz".into()), Millis(1));
        assert!(matches!(unread.as_slice(), [SpokenEffect::Unread(_)]));
        hands.update(&Deed::Answer("? ? ?".into()), Millis(1));
        // Nothing was said yet: the next pile, or the step, is asked for.
        assert!(matches!(hands.phase, Phase::Packet(..) | Phase::Where(_)));
        while matches!(hands.phase, Phase::Packet(..)) {
            hands.update(&Deed::Answer(String::new()), Millis(1));
        }
        vec![Deed::Answer(String::new())]
    });
}
