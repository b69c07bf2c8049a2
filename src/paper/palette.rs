//! The colours of paper: ink and two accents, a blue and an orange, which eyes without red or green tell apart. By day, by night,
//! and in print.
//!
//! Every colour that letters are drawn in has a contrast of 4.5 to 1 or more with every ground it stands on, every other one
//! that carries meaning 3 to 1: the bounds of the W3C's Web Content Accessibility Guidelines 2.2, criteria 1.4.3 and 1.4.11. A
//! test works it out from this table.

/// Red, green and blue, of 255.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

impl Colour {
    /// As style sheets write it.
    #[must_use]
    pub fn css(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }
}

/// One set of colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// The ground.
    pub paper: Colour,
    /// The ground of what stands apart.
    pub card: Colour,
    /// Letters.
    pub ink: Colour,
    /// Letters that may be passed over.
    pub quiet: Colour,
    /// Lines between rows, which carry no meaning.
    pub line: Colour,
    /// The road, and what holds.
    pub road: Colour,
    /// What is shaky, and where the show is.
    pub warm: Colour,
}

/// By day.
pub const DAY: Palette = Palette {
    paper: Colour(0xfb, 0xf9, 0xf4),
    card: Colour(0xf2, 0xee, 0xe4),
    ink: Colour(0x1f, 0x23, 0x28),
    quiet: Colour(0x5a, 0x60, 0x69),
    line: Colour(0xd8, 0xd2, 0xc4),
    road: Colour(0x0a, 0x5f, 0xa8),
    warm: Colour(0xa8, 0x43, 0x00),
};

/// In print: on white, whatever the screen prefers.
pub const PRINT: Palette = Palette {
    paper: Colour(0xff, 0xff, 0xff),
    card: Colour(0xff, 0xff, 0xff),
    ..DAY
};

/// By night.
pub const NIGHT: Palette = Palette {
    paper: Colour(0x15, 0x18, 0x1c),
    card: Colour(0x1e, 0x22, 0x27),
    ink: Colour(0xec, 0xe8, 0xdf),
    quiet: Colour(0xa6, 0xad, 0xb7),
    line: Colour(0x3a, 0x40, 0x48),
    road: Colour(0x79, 0xb8, 0xf5),
    warm: Colour(0xff, 0xab, 0x66),
};

impl Palette {
    /// The colours as variables of a style sheet.
    #[must_use]
    pub fn variables(&self) -> String {
        [
            ("paper", self.paper),
            ("card", self.card),
            ("ink", self.ink),
            ("quiet", self.quiet),
            ("line", self.line),
            ("road", self.road),
            ("warm", self.warm),
        ]
        .iter()
        .map(|(name, colour)| format!("--{name}:{};", colour.css()))
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance, as WCAG 2.2 defines it (with the threshold of the sRGB standard).
    fn luminance(colour: Colour) -> f64 {
        let part = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * part(colour.0) + 0.7152 * part(colour.1) + 0.0722 * part(colour.2)
    }

    /// The contrast ratio, as WCAG 2.2 defines it.
    fn contrast(a: Colour, b: Colour) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn the_formula_gives_the_known_ratios() {
        // Black on white is 21 to 1; #767676 on white is known as the lightest grey that passes, 4.54 to 1.
        assert!((contrast(Colour(0, 0, 0), Colour(255, 255, 255)) - 21.0).abs() < 1e-9);
        let grey = contrast(Colour(0x76, 0x76, 0x76), Colour(255, 255, 255));
        assert!((grey - 4.54).abs() < 0.005, "{grey}");
    }

    #[test]
    fn letters_can_be_read_on_every_ground() {
        for palette in [DAY, PRINT, NIGHT] {
            for ground in [palette.paper, palette.card] {
                for letters in [palette.ink, palette.quiet, palette.road, palette.warm] {
                    let found = contrast(letters, ground);
                    assert!(found >= 4.5, "{letters:?} on {ground:?}: {found}");
                }
            }
        }
    }

    #[test]
    fn the_two_accents_differ_in_blue_and_yellow_not_in_red_and_green_alone() {
        // Eyes without red or green still tell blue from yellow: the sign of blue less the mean of red and green.
        for palette in [DAY, NIGHT] {
            let blueness = |c: Colour| i32::from(c.2) * 2 - i32::from(c.0) - i32::from(c.1);
            assert!(blueness(palette.road) > 60 && blueness(palette.warm) < -60);
        }
    }
}
