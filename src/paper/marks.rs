//! How a step is held, as a shape: an empty circle is new, a quarter full shaky, half full steady, full show-ready.

use super::markup::{Element, el};
use crate::coach::Hold;

/// The mark with its middle here, as large as this, on a picture.
#[must_use]
pub fn mark(hold: Hold, (x, y): (f64, f64), r: f64) -> Element {
    let (stroke, fill) = match hold {
        Hold::Untried | Hold::Steady | Hold::ShowReady => ("s-road", "f-road"),
        Hold::Shaky => ("s-warm", "f-warm"),
    };
    let ring = el("circle")
        .at("cx", x)
        .at("cy", y)
        .at("r", r)
        .set("class", format!("{stroke} f-paper"))
        .set("stroke-width", "2");
    let filled = match hold {
        Hold::Untried => None,
        Hold::ShowReady => Some(el("circle").at("cx", x).at("cy", y).at("r", r).class(fill)),
        // A slice from twelve o'clock on: a quarter, or half.
        Hold::Shaky => Some(slice((x, y), r, (x + r, y), fill)),
        Hold::Steady => Some(slice((x, y), r, (x, y + r), fill)),
    };
    el("g").with(ring).each(filled)
}

fn slice((x, y): (f64, f64), r: f64, (to_x, to_y): (f64, f64), fill: &'static str) -> Element {
    el("path").class(fill).set(
        "d",
        format!(
            "M{x:.1} {y:.1}V{:.1}A{r:.1} {r:.1} 0 0 1 {to_x:.1} {to_y:.1}Z",
            y - r
        ),
    )
}

/// The mark beside a word that says the same: readers of the screen pass over it.
#[must_use]
pub fn beside(hold: Hold) -> Element {
    el("svg")
        .set("viewBox", "0 0 16 16")
        .set("aria-hidden", "true")
        .set("focusable", "false")
        .with(mark(hold, (8.0, 8.0), 6.0))
}
