//! A rescue line by line:
//!
//! ```text
//! spectator: "One more, for my mother."
//! prompter: After “Cut”: They cut the packet once more, and you see how many they lift.
//! stray: cuts-again
//! seen: You saw: 5 cards.
//! before: the packet: 20 cards: KH 4S …
//! safe, mend, out or lost? s, m, o or l
//! > m
//! right. kept.
//! mend 1: one-under: cut 1 card from the top of the packet to the bottom: “Wait.”
//! what makes it safe? a number, moves like cut 3; top to bottom; turn 2, or a look first, like look bottom
//! > cut 3; top to bottom
//! ```

use super::ScreenFault;
use super::plain::Lines;
use super::plain_live::road;
use crate::drill::SpokenPrompt;

/// Shows a prompt of a rescue; of any other nothing.
pub(super) fn show(
    prompt: &SpokenPrompt,
    lines: &mut Lines<'_>,
    last: &mut u32,
) -> Result<(), ScreenFault> {
    match prompt {
        SpokenPrompt::Stray(met) => {
            road(&met.along, lines, last)?;
            lines.tell("stray", &met.name)?;
            for seen in &met.seen {
                lines.tell("seen", seen)?;
            }
            for pile in &met.table {
                lines.tell("before", pile)?;
            }
            lines.say("safe, mend, out or lost? s, m, o or l")
        }
        SpokenPrompt::Mend(asked) => {
            for seen in &asked.seen {
                lines.tell("seen", seen)?;
            }
            for (n, (id, does, says)) in asked.mends.iter().enumerate() {
                lines.say(&format!("mend {}: {id}: {does}: “{says}”", n + 1))?;
            }
            lines.say(
                "what makes it safe? a number, moves like cut 3; top to bottom; turn 2, or a look first, like look \
                 bottom; - if you do not know",
            )
        }
        SpokenPrompt::Rescue(told) => {
            road(&told.along, lines, last)?;
            for line in &told.lines {
                lines.tell("told", line)?;
            }
            for packet in &told.packets {
                lines.say(packet)?;
            }
            lines.say("enter goes on")
        }
        SpokenPrompt::WhereNow(asked) => {
            road(&asked.along, lines, last)?;
            for pile in &asked.table {
                lines.tell("on the table", pile)?;
            }
            for said in &asked.said {
                lines.tell("said so far", said)?;
            }
            for (n, (_, title)) in asked.steps.iter().enumerate() {
                lines.say(&format!("{}: {title}", n + 1))?;
            }
            lines.say(
                "where do you go on? the number of the step, or its title; - if you do not know",
            )
        }
        SpokenPrompt::SetUp(_)
        | SpokenPrompt::Step(_)
        | SpokenPrompt::Which(_)
        | SpokenPrompt::Ask(_)
        | SpokenPrompt::Marked(_)
        | SpokenPrompt::Judge(_)
        | SpokenPrompt::Packet(_)
        | SpokenPrompt::Where(_)
        | SpokenPrompt::Verdict(_)
        | SpokenPrompt::Opening(_)
        | SpokenPrompt::Line(_)
        | SpokenPrompt::Real(_)
        | SpokenPrompt::Reading(_)
        | SpokenPrompt::Read(_)
        | SpokenPrompt::Done(_) => Ok(()),
    }
}
