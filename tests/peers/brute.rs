//! All roads, one by one, the claim looked at after each: `brute riffle CARDS`, `brute cut-and-turn CARDS ROUNDS`, `brute
//! twenty-seven`. It says whether the claim holds and how many roads there were.

use std::error::Error;
use std::thread::scope;

/// The alternating packet: any number dealt off one by one, the two parts riffled in any way, every pair one of each colour.
/// Colours are bits; the packet that forms is a word, first card lowest.
struct Riffle {
    cards: u32,
    dealt: u32,
    roads: u64,
    holds: bool,
}

impl Riffle {
    /// Cards are dropped from the bottom of either part: `left` cards of those dealt and `right` of the others still to fall.
    fn fall(&mut self, left: u32, right: u32, formed: u64) {
        if left == 0 && right == 0 {
            self.roads += 1;
            let unlike = formed ^ (formed >> 1);
            let pairs = 0x5555_5555_5555_5555 & ((1 << self.cards) - 1);
            self.holds &= unlike & pairs == pairs;
            return;
        }
        // The card dealt first lies at the bottom; below the cards that were not dealt lies the last of the packet.
        if left > 0 {
            let card = u64::from(self.dealt - left) & 1;
            self.fall(left - 1, right, formed << 1 | card);
        }
        if right > 0 {
            let card = u64::from(self.dealt + right - 1) & 1;
            self.fall(left, right - 1, formed << 1 | card);
        }
    }
}

fn riffle(cards: u32) -> (u64, bool) {
    let dealing = |first: u32| {
        let (mut roads, mut holds) = (0, true);
        for dealt in (first..=cards).step_by(2) {
            let mut riffle = Riffle {
                cards,
                dealt,
                roads: 0,
                holds: true,
            };
            riffle.fall(dealt, cards - dealt, 0);
            roads += riffle.roads;
            holds &= riffle.holds;
        }
        (roads, holds)
    };
    // Even and odd numbers have equally many roads.
    scope(|threads| {
        let odd = threads.spawn(|| dealing(1));
        let even = dealing(0);
        let odd = odd.join().unwrap_or((0, false));
        (even.0 + odd.0, even.1 && odd.1)
    })
}

/// Cut anywhere, turn the top two over as a block, at most so many rounds: as many face up at odd places as at even ones.
fn cut_and_turn(cards: usize, rounds: u32) -> (u64, bool) {
    // A card is its number, doubled, and 1 more where it is face up.
    let start: Vec<u8> = (0..cards).map(|card| 2 * card as u8).collect();
    let half = cards / 2;
    scope(|threads| {
        let later = threads.spawn(|| rounds_from(&start, half..cards, rounds));
        let first = rounds_from(&start, 0..half, rounds);
        let later = later.join().unwrap_or((0, false));
        (first.0 + later.0, first.1 && later.1)
    })
}

fn rounds_from(packet: &[u8], cuts: std::ops::Range<usize>, rounds: u32) -> (u64, bool) {
    if rounds == 0 {
        return (0, true);
    }
    let (mut roads, mut holds) = (0, true);
    let mut next = packet.to_vec();
    for cut in cuts {
        next.copy_from_slice(packet);
        next.rotate_left(cut);
        next.swap(0, 1);
        next[0] ^= 1;
        next[1] ^= 1;
        let mut ahead = 0_i32;
        for (place, card) in next.iter().enumerate() {
            let up = i32::from(card & 1);
            ahead += if place % 2 == 0 { up } else { -up };
        }
        holds &= ahead == 0;
        // They may stop here, or go on.
        let (further, kept) = rounds_from(&next, 0..packet.len(), rounds - 1);
        roads += 1 + further;
        holds &= kept;
    }
    (roads, holds)
}

/// Twenty-seven cards, any of them thought of, any number named: three times dealt into three piles and gathered by the number,
/// then the card lies at the number.
fn twenty_seven() -> (u64, bool) {
    let (mut roads, mut holds) = (0, true);
    for named in 1..=27_usize {
        for thought in 0..27_u8 {
            let mut packet: Vec<u8> = (0..27).collect();
            for digit in [1, 3, 9] {
                let mut piles = [const { Vec::new() }; 3];
                for (n, card) in packet.iter().enumerate() {
                    piles[n % 3].push(*card);
                }
                let held = piles.iter().position(|pile| pile.contains(&thought));
                let theirs = held.map_or_else(Vec::new, |held| std::mem::take(&mut piles[held]));
                let mut others = piles.into_iter().filter(|pile| !pile.is_empty());
                let above = (named - 1) / digit % 3;
                packet.clear();
                for _ in 0..above {
                    packet.extend(others.next().unwrap_or_default());
                }
                packet.extend(theirs);
                packet.extend(others.flatten());
            }
            roads += 1;
            holds &= packet.get(named - 1) == Some(&thought);
        }
    }
    (roads, holds)
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let (roads, holds) = match arguments.as_slice() {
        ["riffle", cards] => riffle(cards.parse()?),
        ["cut-and-turn", cards, rounds] => cut_and_turn(cards.parse()?, rounds.parse()?),
        ["twenty-seven"] => twenty_seven(),
        _ => return Err("brute riffle CARDS | cut-and-turn CARDS ROUNDS | twenty-seven".into()),
    };
    println!("{} roads={roads}", if holds { "holds" } else { "fails" });
    Ok(())
}
