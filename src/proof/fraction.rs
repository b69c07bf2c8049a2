//! Exact shares from nought up: in two machine words while they fit, and in big numbers beyond.
//!
//! Chances of single roads are mostly small fractions, and there are millions of them; a sum of them is exact all the same.

use num_bigint::BigUint;
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{ToPrimitive, Zero};

/// A fraction from nought up, in lowest terms. One that fits two words is never kept as a big one, so equal fractions are equal.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Fraction {
    /// So many of so many; the second is at least 1.
    Small(u64, u64),
    /// What does not fit.
    Large(Box<BigRational>),
}

impl Fraction {
    /// Nothing.
    pub const NOUGHT: Self = Self::Small(0, 1);
    /// All.
    pub const ONE: Self = Self::Small(1, 1);

    /// So many of so many; of nothing at all nought.
    #[must_use]
    pub fn of(part: u128, of: u128) -> Self {
        if of == 0 {
            return Self::NOUGHT;
        }
        if let (Ok(part), Ok(of)) = (u64::try_from(part), u64::try_from(of)) {
            let common = part.gcd(&of);
            return Self::Small(part / common, of / common);
        }
        let common = part.gcd(&of);
        match (u64::try_from(part / common), u64::try_from(of / common)) {
            (Ok(part), Ok(of)) => Self::Small(part, of),
            _ => Self::large(BigRational::new(
                BigUint::from(part).into(),
                BigUint::from(of).into(),
            )),
        }
    }

    /// Of big numbers.
    #[must_use]
    pub fn of_big(part: &BigUint, of: &BigUint) -> Self {
        match (part.to_u128(), of.to_u128()) {
            (Some(part), Some(of)) => Self::of(part, of),
            _ if of.is_zero() => Self::NOUGHT,
            _ => Self::large(BigRational::new(part.clone().into(), of.clone().into())),
        }
    }

    /// Of a big fraction from nought up.
    #[must_use]
    pub fn of_ratio(number: &BigRational) -> Self {
        Self::large(number.clone())
    }

    fn large(number: BigRational) -> Self {
        match (number.numer().to_u64(), number.denom().to_u64()) {
            (Some(part), Some(of)) => Self::Small(part, of),
            _ => Self::Large(Box::new(number)),
        }
    }

    /// The same as a big fraction.
    #[must_use]
    pub fn big(&self) -> BigRational {
        match self {
            Self::Small(part, of) => BigRational::new_raw((*part).into(), (*of).into()),
            Self::Large(number) => (**number).clone(),
        }
    }

    /// Whether it is nothing.
    #[must_use]
    pub fn is_nought(&self) -> bool {
        *self == Self::NOUGHT
    }

    /// Both together.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        match (self, other) {
            (Self::Small(0, _), _) => other.clone(),
            (_, Self::Small(0, _)) => self.clone(),
            (Self::Small(a, b), Self::Small(c, d)) => {
                if b == d {
                    return Self::of(u128::from(*a) + u128::from(*c), u128::from(*b));
                }
                let common = b.gcd(d);
                let (left, right) = (u128::from(d / common), u128::from(b / common));
                let sum = u128::from(*a)
                    .checked_mul(left)
                    .and_then(|one| one.checked_add(u128::from(*c).checked_mul(right)?));
                match sum {
                    Some(sum) => Self::of(sum, u128::from(*b) * left),
                    None => Self::large(self.big() + other.big()),
                }
            }
            _ => Self::large(self.big() + other.big()),
        }
    }

    /// The one of the other.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        match (self, other) {
            (Self::Small(1, 1), _) => other.clone(),
            (_, Self::Small(1, 1)) => self.clone(),
            (Self::Small(a, b), Self::Small(c, d)) => {
                let product = |x: &u64, y: &u64| u128::from(*x) * u128::from(*y);
                Self::of(product(a, c), product(b, d))
            }
            _ => Self::large(self.big() * other.big()),
        }
    }

    /// Which share of the other it is; of nothing at all nought.
    #[must_use]
    pub fn over(&self, other: &Self) -> Self {
        match (self, other) {
            (_, Self::Small(0, _)) => Self::NOUGHT,
            (_, Self::Small(1, 1)) => self.clone(),
            (Self::Small(a, b), Self::Small(c, d)) => {
                let product = |x: &u64, y: &u64| u128::from(*x) * u128::from(*y);
                Self::of(product(a, d), product(b, c))
            }
            _ => Self::large(self.big() / other.big()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn fractions() -> impl Strategy<Value = (u64, u64)> {
        let number = prop_oneof![0..20_u64, any::<u64>()];
        let below = prop_oneof![1..20_u64, 1..=u64::MAX];
        (number, below)
    }

    proptest! {
        /// Held against the big fractions of the crate that makes them.
        #[test]
        fn sums_products_and_shares_are_those_of_big_fractions((a, b) in fractions(), (c, d) in fractions()) {
            let big = |a: u64, b: u64| BigRational::new(a.into(), b.into());
            let (one, other) = (Fraction::of(a.into(), b.into()), Fraction::of(c.into(), d.into()));
            prop_assert_eq!(one.big(), big(a, b));
            prop_assert_eq!(one.plus(&other).big(), big(a, b) + big(c, d));
            prop_assert_eq!(one.times(&other).big(), big(a, b) * big(c, d));
            if c > 0 {
                prop_assert_eq!(one.over(&other).big(), big(a, b) / big(c, d));
            }
            // Equal ones are equal however they were come by.
            prop_assert_eq!(one.plus(&other), other.plus(&one));
            prop_assert_eq!(one.plus(&other).over(&other).times(&other) == one.plus(&other), c > 0 || one.plus(&other).is_nought());
        }
    }
}
