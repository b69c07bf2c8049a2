//! How likely each kind of slip is, before anything is known of the packet: the one table that ranks explanations.
//!
//! The weights are common practice and have no source: they say in numbers what performers tell each other. Lifting a block
//! where the cards should be dealt one by one is the commonest slip of all, and losing count by one comes next; hands leave something out
//! more often than they do it twice; a pile picked up in the wrong order or the wrong place is commoner than a card that falls.
//! Only their ratios matter. A kind that can happen in several ways at one moment (any of twenty cards may fall) shares its weight
//! among them, so that what has many ways does not count for more.

use super::kind::SlipKind;

/// The weight of a kind of slip at one moment.
#[must_use]
pub fn weight(kind: SlipKind) -> f64 {
    match kind {
        SlipKind::Lifted => 240.0,
        SlipKind::CountedOff => 160.0,
        SlipKind::Count => 180.0,
        SlipKind::LeftOut => 90.0,
        SlipKind::Gathered => 90.0,
        SlipKind::UnderOver => 80.0,
        SlipKind::InOut => 80.0,
        SlipKind::WrongPile => 60.0,
        SlipKind::Began => 60.0,
        SlipKind::LostBeat => 60.0,
        SlipKind::WrongWay => 50.0,
        SlipKind::Turned => 50.0,
        SlipKind::Place => 50.0,
        SlipKind::Twice => 40.0,
        SlipKind::LastAcross => 25.0,
        SlipKind::Dropped => 25.0,
        SlipKind::Lost => 10.0,
    }
}
