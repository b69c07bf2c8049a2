//! What is done, with names looked up.

use super::names::{ForkTag, Names};
use crate::handling::{End, Halves, Kept, Over, Weave};
use crate::routine::check::Spot;
use crate::routine::draft::{
    Act as Draft, Block, Elimination, Facing, Gather, Half, InverseFaro, PileEnd, Second, Spell,
    TurnEach, WeaveWord,
};
use crate::routine::expr::{Expr, Kind};
use crate::routine::model::{Act, Chain, Words};
use crate::routine::yaml_read::{At, Part, Text};

/// The most times a part may be repeated.
const MOST_TIMES: i64 = 200;
/// The most letters of a word that is spelled.
const LONGEST_WORD: usize = 60;

pub(super) fn acts(drafts: &[Part<At<Draft>>], names: &Names<'_>) -> Vec<Act> {
    let drafts = drafts.iter().filter_map(|draft| draft.get());
    drafts.filter_map(|draft| act(draft, names)).collect()
}

fn end(end: Option<PileEnd>) -> End {
    match end {
        Some(PileEnd::Bottom) => End::Bottom,
        Some(PileEnd::Top) | None => End::Top,
    }
}

/// An expression that may be absent: `Some(None)` is absent, `None` wrong.
fn count(text: Option<&Text>, names: &Names<'_>) -> Option<Option<Expr>> {
    match text {
        None => Some(None),
        Some(text) => number(text, 0, names).map(Some),
    }
}

/// A number; where it is written as one, it must be at least `least`.
fn number(text: &Text, least: i64, names: &Names<'_>) -> Option<Expr> {
    let expr = names.expr(text, Kind::Int)?;
    let fixed = expr.fixed().and_then(|value| value.as_int().ok());
    if fixed.is_some_and(|n| n < least) {
        let message = format!("{} is too small here", text.text.trim());
        let help = if least == 1 {
            "places count from the top, from 1"
        } else {
            "take a number from 0 up"
        };
        names.gathered.advise(text.spot, message, help);
    }
    Some(expr)
}

fn act(draft: &At<Draft>, names: &Names<'_>) -> Option<Act> {
    let spot = draft.spot;
    match &draft.value {
        Draft::Cut(cut) => {
            let pile = names.pile(&cut.pile);
            let at = number(&cut.at, 0, names);
            Some(Act::Cut {
                pile: pile?,
                at: at?,
            })
        }
        Draft::Move(move_) => block(move_, Kept::Kept, names),
        Draft::Count(counted) => block(counted, Kept::Reversed, names),
        Draft::Deal(deal) => {
            let from = names.pile(&deal.from);
            let to = names.pile_list(&deal.to, 1, spot);
            let count = count(deal.count.as_ref(), names);
            if let Some(same) = deal.to.iter().find(|to| to.text == deal.from.text) {
                names.gathered.advise(
                    same.spot,
                    format!("\"{}\" is dealt from and dealt to", same.text),
                    "deal onto other piles, and gather them",
                );
            }
            Some(Act::Deal {
                from: from?,
                to: to?,
                count: count?,
                up: match deal.face {
                    Some(Facing::Up) => Some(true),
                    Some(Facing::Down) => Some(false),
                    Some(Facing::AsIs) | None => None,
                },
            })
        }
        Draft::Gather(draft) => gather(draft, spot, names),
        Draft::DownUnder(draft) => elimination(draft, false, names),
        Draft::UnderDown(draft) => elimination(draft, true, names),
        Draft::Klondike(pile) => names.pile(pile).map(Act::Klondike),
        Draft::Monge(monge) => Some(Act::Monge {
            pile: names.pile(&monge.pile)?,
            second: match monge.second {
                Second::Over => Over::Over,
                Second::Under => Over::Under,
            },
        }),
        Draft::Faro(faro) => Some(Act::Faro {
            pile: names.pile(&faro.pile)?,
            weave: match faro.weave {
                WeaveWord::In => Weave::In,
                WeaveWord::Out => Weave::Out,
            },
        }),
        Draft::InverseFaro(draft) => inverse_faro(draft, spot, names),
        Draft::Riffle(riffle) => {
            let left = names.pile(&riffle.left);
            let right = names.pile(&riffle.right);
            let to = names.pile(&riffle.to);
            let by = names.choice(&riffle.by, ForkTag::Riffle, "a riffle fork");
            Some(Act::Riffle {
                left: left?,
                right: right?,
                to: to?,
                by: by?,
            })
        }
        Draft::Overhand(overhand) => {
            let pile = names.pile(&overhand.pile);
            let by = names.choice(&overhand.by, ForkTag::Overhand, "an overhand fork");
            Some(Act::Overhand {
                pile: pile?,
                by: by?,
            })
        }
        Draft::Turn(turn) => {
            let pile = names.pile(&turn.pile);
            let count = count(turn.count.as_ref(), names);
            Some(Act::Turn {
                pile: pile?,
                count: count?,
            })
        }
        Draft::TurnEach(draft) => turn_each(draft, spot, names),
        Draft::Reverse(pile) => names.pile(pile).map(Act::Reverse),
        Draft::Take(take) => {
            let from = names.pile(&take.from);
            let at = number(&take.at, 1, names);
            let to = names.pile(&take.to);
            Some(Act::Take {
                from: from?,
                at: at?,
                to: to?,
                put: end(take.put),
            })
        }
        Draft::Put(put) => {
            let from = names.pile(&put.from);
            let to = names.pile(&put.to);
            let at = number(&put.at, 1, names);
            Some(Act::Put {
                from: from?,
                to: to?,
                at: at?,
            })
        }
        Draft::Swap(swap) => {
            let pile = names.pile(&swap.pile);
            let a = number(&swap.a, 1, names);
            let b = number(&swap.b, 1, names);
            Some(Act::Swap {
                pile: pile?,
                a: a?,
                b: b?,
            })
        }
        Draft::Spell(draft) => spell(draft, spot, names),
        Draft::Chain(chain) => {
            let pile = names.pile(&chain.pile);
            let from = number(&chain.from, 1, names);
            let name = names.learn();
            Some(Act::Chain(Chain {
                pile: pile?,
                from: from?,
                court: chain.court.as_ref().map(|c| c.value),
                name,
            }))
        }
        Draft::Repeat(repeat) => {
            let times = number(&repeat.times, 0, names);
            let fixed = times.as_ref().and_then(Expr::fixed);
            if fixed
                .and_then(|n| n.as_int().ok())
                .is_some_and(|n| n > MOST_TIMES)
            {
                let message = format!("{} times is too often", repeat.times.text);
                let help = format!("at most {MOST_TIMES}");
                names.gathered.advise(repeat.times.spot, message, help);
            }
            let acts = acts(&repeat.acts, names);
            Some(Act::Repeat {
                times: times?,
                acts,
            })
        }
        Draft::When(when) => {
            let condition = names.expr(&when.is, Kind::Bool);
            let then = acts(&when.acts, names);
            let otherwise = acts(when.otherwise.as_deref().unwrap_or_default(), names);
            Some(Act::When {
                when: condition?,
                then,
                otherwise,
            })
        }
    }
}

fn block(draft: &Block, order: Kept, names: &Names<'_>) -> Option<Act> {
    let from = names.pile(&draft.from);
    let to = names.pile(&draft.to);
    let count = count(draft.count.as_ref(), names);
    Some(Act::Block {
        from: from?,
        take: end(draft.take),
        count: count?,
        to: to?,
        put: end(draft.put),
        order,
    })
}

fn gather(draft: &Gather, spot: Spot, names: &Names<'_>) -> Option<Act> {
    let onto = names.pile(&draft.onto);
    let (piles, by) = match (&draft.piles, &draft.by) {
        (Some(piles), None) => (names.pile_list(piles, 1, spot)?, None),
        (None, Some(by)) => (Vec::new(), Some(names.expr(by, Kind::Order)?)),
        (Some(_), Some(_)) | (None, None) => {
            names.gathered.advise(
                spot,
                "gather needs either `piles` or `by`",
                "write `piles: [a, b]`, the first on top, or `by: order`",
            );
            return None;
        }
    };
    Some(Act::Gather {
        piles,
        by,
        onto: onto?,
    })
}

fn elimination(draft: &Elimination, first_under: bool, names: &Names<'_>) -> Option<Act> {
    let pile = names.pile(&draft.pile);
    let to = names.pile(&draft.to);
    let leave = match &draft.leave {
        Some(leave) => number(leave, 0, names),
        None => Some(Expr::number(0)),
    };
    Some(Act::DownUnder {
        pile: pile?,
        to: to?,
        leave: leave?,
        first_under,
    })
}

fn inverse_faro(draft: &InverseFaro, spot: Spot, names: &Names<'_>) -> Option<Act> {
    let pile = names.pile(&draft.pile);
    let (top, by) = match (draft.top, &draft.odds_on_top) {
        (Some(Half::Odds), None) => (Halves::OddsOnTop, None),
        (Some(Half::Evens), None) => (Halves::EvensOnTop, None),
        (None, Some(by)) => (Halves::OddsOnTop, Some(names.expr(by, Kind::Bool)?)),
        (Some(_), Some(_)) | (None, None) => {
            names.gathered.advise(
                spot,
                "inverse-faro needs either `top` or `odds-on-top`",
                "write `top: odds`, `top: evens`, or an expression under `odds-on-top`",
            );
            return None;
        }
    };
    Some(Act::InverseFaro {
        pile: pile?,
        top,
        by,
    })
}

fn turn_each(draft: &TurnEach, spot: Spot, names: &Names<'_>) -> Option<Act> {
    let pile = names.pile(&draft.pile);
    let (at, by) = match (&draft.at, &draft.by) {
        (Some(places), None) => {
            let at: Vec<Option<Expr>> = places.iter().map(|p| number(p, 1, names)).collect();
            (at.into_iter().collect::<Option<Vec<Expr>>>()?, None)
        }
        (None, Some(by)) => {
            let by = names.choice(by, ForkTag::Cards, "a cards fork")?;
            (Vec::new(), Some(by))
        }
        (Some(_), Some(_)) | (None, None) => {
            names.gathered.advise(
                spot,
                "turn-each needs either `at` or `by`",
                "write `at: [1, 3]`, or `by:` with the name of a cards fork",
            );
            return None;
        }
    };
    Some(Act::TurnEach {
        pile: pile?,
        at,
        by,
    })
}

fn spell(draft: &Spell, spot: Spot, names: &Names<'_>) -> Option<Act> {
    let from = names.pile(&draft.from);
    let to = names.pile(&draft.to);
    let words = match (&draft.word, &draft.card) {
        (Some(word), None) => {
            let letters = crate::cards::count_letters(&word.text);
            if letters == 0 || letters > LONGEST_WORD {
                names.gathered.advise(
                    word.spot,
                    format!("\"{}\" has {letters} letters to spell", word.text),
                    format!("take from 1 to {LONGEST_WORD} letters"),
                );
            }
            Words::Plain(word.text.clone())
        }
        (None, Some(card)) => Words::CardName(names.expr(card, Kind::Card)?),
        (Some(_), Some(_)) | (None, None) => {
            names.gathered.advise(
                spot,
                "spell needs either `word` or `card`",
                "write `word: abracadabra`, or an expression that is a card under `card`",
            );
            return None;
        }
    };
    Some(Act::Spell {
        from: from?,
        to: to?,
        words,
    })
}
