//! Numbers as people read them.

use num_bigint::{BigInt, BigUint};
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// Longer numbers are rounded; they are exact in the JSON.
const MOST_DIGITS: usize = 31;
/// Fractions with longer parts are told as a percentage alone.
const MOST_FRACTION_DIGITS: usize = 16;

/// A number with a comma between its thousands; a very long one rounded: "about 8.06 × 10^67".
pub(in crate::command) fn grouped(number: &BigUint) -> String {
    let digits = number.to_string();
    if digits.len() > MOST_DIGITS {
        let (first, rest) = digits.split_at(1);
        return format!("about {first}.{} × 10^{}", &rest[..2], digits.len() - 1);
    }
    let mut told = String::with_capacity(digits.len() * 4 / 3);
    for (n, digit) in digits.chars().enumerate() {
        if n > 0 && (digits.len() - n).is_multiple_of(3) {
            told.push(',');
        }
        told.push(digit);
    }
    told
}

/// The same for a machine's number.
pub(in crate::command) fn thousands(number: u64) -> String {
    grouped(&BigUint::from(number))
}

/// A chance from 0 to 1 as a percentage, with as many places as show that it is not quite 0 or 100: "68.75 %",
/// "99.9998 %". Rounded down, so that what can fail never reads as certain.
pub(in crate::command) fn percent(chance: &BigRational) -> String {
    if chance.is_zero() || chance.is_negative() {
        return "0 %".to_owned();
    }
    if *chance >= BigRational::one() {
        return "100 %".to_owned();
    }
    let rest = BigRational::one() - chance;
    let least = if *chance < rest { chance } else { &rest };
    let mut places = 2u32;
    // One part in a hundred of the smaller side must be seen.
    while places < 12 && (least * scale(places)).to_integer() < BigInt::from(10) {
        places += 1;
    }
    let scaled = (chance * scale(places)).to_integer();
    if scaled.is_zero() {
        return "almost 0 %".to_owned();
    }
    if rest * scale(places) < BigRational::one() {
        return "almost 100 %".to_owned();
    }
    let (whole, part) = scaled.div_rem(&BigInt::from(10u32).pow(places));
    let part = format!("{part:0>width$}", width = places as usize);
    let part = part.trim_end_matches('0');
    if part.is_empty() {
        format!("{whole} %")
    } else {
        format!("{whole}.{part} %")
    }
}

/// A hundred times a power of ten.
fn scale(places: u32) -> BigRational {
    BigRational::from_integer(BigInt::from(10u32).pow(places + 2))
}

/// A chance as a fraction and a percentage: "11/16 (68.75 %)".
pub(in crate::command) fn chance(chance: &BigRational) -> String {
    let fraction = format!("{}/{}", chance.numer(), chance.denom());
    if chance.denom().is_one() {
        percent(chance)
    } else if chance.denom().to_string().len() > MOST_FRACTION_DIGITS {
        format!("{} (the exact fraction: --json)", percent(chance))
    } else {
        format!("{fraction} ({})", percent(chance))
    }
}

/// So many of so many random roads, with the standard error: "84.21 %, give or take 0.12".
pub(in crate::command) fn sampled(held: u64, of: u64) -> String {
    if of == 0 {
        return "unknown".to_owned();
    }
    let roads = format!("{} random roads", thousands(of));
    if held == 0 {
        return format!("none of {roads}");
    }
    if held == of {
        return format!("all of {roads}");
    }
    let share = BigRational::new(BigInt::from(held), BigInt::from(of));
    let part = share.to_f64().unwrap_or_default();
    // The standard error of a share p of n independent trials: sqrt(p(1-p)/n).
    #[expect(
        clippy::cast_precision_loss,
        reason = "an error estimate needs no more"
    )]
    let error = (part * (1.0 - part) / of as f64).sqrt() * 100.0;
    format!(
        "{} of {roads} ({:.2} %, give or take {error:.2})",
        thousands(held),
        part * 100.0
    )
}

/// A time: "0.004 s", "1.3 s", "75 s".
pub(in crate::command) fn seconds(seconds: f64) -> String {
    if seconds < 0.0995 {
        format!("{seconds:.3} s")
    } else if seconds < 9.95 {
        format!("{seconds:.1} s")
    } else {
        format!("{seconds:.0} s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(a: u64, b: u64) -> BigRational {
        BigRational::new(BigInt::from(a), BigInt::from(b))
    }

    #[test]
    fn thousands_are_kept_apart_and_the_longest_are_rounded() {
        assert_eq!(thousands(0), "0");
        assert_eq!(thousands(999), "999");
        assert_eq!(thousands(1_000), "1,000");
        assert_eq!(
            grouped(&BigUint::from(2u8).pow(52)),
            "4,503,599,627,370,496"
        );
        // The factorial of 52 is 80658175170943878571…, with 68 digits.
        let factorial = (1u32..=52).fold(BigUint::one(), |all, n| all * n);
        assert_eq!(grouped(&factorial), "about 8.06 × 10^67");
    }

    #[test]
    fn a_chance_that_is_not_certain_never_reads_as_certain() {
        assert_eq!(percent(&part(11, 16)), "68.75 %");
        assert_eq!(percent(&part(1, 2)), "50 %");
        assert_eq!(percent(&part(2, 3)), "66.66 %");
        assert_eq!(percent(&part(999_999, 1_000_000)), "99.9999 %");
        assert_eq!(percent(&part(1, 1_000_000)), "0.0001 %");
        assert_eq!(percent(&part(1, 1)), "100 %");
        assert_eq!(percent(&part(0, 1)), "0 %");
        let near = part(u64::MAX - 1, u64::MAX);
        assert_eq!(percent(&near), "almost 100 %");
        assert_eq!(percent(&(part(1, 1) - near)), "almost 0 %");
        assert_eq!(chance(&part(6, 8)), "3/4 (75 %)");
        assert_eq!(chance(&part(0, 8)), "0 %");
    }

    #[test]
    fn a_share_of_random_roads_comes_with_its_error() {
        // By hand: sqrt(0.25 / 10,000) = 0.005.
        assert_eq!(
            sampled(5_000, 10_000),
            "5,000 of 10,000 random roads (50.00 %, give or take 0.50)"
        );
        assert_eq!(sampled(0, 1_000), "none of 1,000 random roads");
        assert_eq!(sampled(7, 7), "all of 7 random roads");
    }
}
