//! Templates: text with blanks, as patter is written.

use super::expr::{Expr, ExprFault, Scope};
use super::model::{Blank, Template};
use super::world::{Fault, Scene};
use std::fmt::Write;

impl Template {
    /// Text as it stands, without blanks.
    #[must_use]
    pub fn plain(text: &str) -> Self {
        if text.is_empty() {
            Self::default()
        } else {
            Self(vec![Blank::Plain(text.to_owned())])
        }
    }

    /// Reads text with blanks: `{expression}` is a blank, `{{` and `}}` are braces as they stand.
    ///
    /// # Errors
    /// When a brace is never closed or opened, or an expression is refused; the offset counts from the start of the text.
    pub fn parse(text: &str, scope: &dyn Scope) -> Result<Self, ExprFault> {
        let fault = |message: &str, offset: usize| ExprFault {
            message: message.to_owned(),
            offset,
        };
        let letters: Vec<char> = text.chars().collect();
        let mut blanks = Vec::new();
        let mut plain = String::new();
        let mut i = 0;
        while let Some(&c) = letters.get(i) {
            match c {
                '{' | '}' if letters.get(i + 1) == Some(&c) => {
                    plain.push(c);
                    i += 2;
                }
                '}' => {
                    return Err(fault(
                        "this `}` closes nothing; for a brace as it stands write `}}`",
                        i,
                    ));
                }
                '{' => {
                    let start = i + 1;
                    let length = letters[start..].iter().position(|c| matches!(c, '{' | '}'));
                    let Some(length) = length.filter(|n| letters[start + n] == '}') else {
                        return Err(fault(
                            "this `{` is never closed; for a brace as it stands write `{{`",
                            i,
                        ));
                    };
                    let source: String = letters[start..start + length].iter().collect();
                    let expr = Expr::compile(&source, scope).map_err(|f| ExprFault {
                        message: f.message,
                        offset: start + f.offset,
                    })?;
                    if !plain.is_empty() {
                        blanks.push(Blank::Plain(std::mem::take(&mut plain)));
                    }
                    blanks.push(Blank::Value(expr));
                    i = start + length + 1;
                }
                c => {
                    plain.push(c);
                    i += 1;
                }
            }
        }
        if !plain.is_empty() {
            blanks.push(Blank::Plain(plain));
        }
        Ok(Self(blanks))
    }

    /// The text with its blanks filled in words: cards by full name in the routine's language, numbers in digits, piles
    /// by name.
    ///
    /// # Errors
    /// See [`Expr::value`].
    pub fn render(&self, scene: Scene<'_>) -> Result<String, Fault> {
        let mut text = String::new();
        for blank in &self.0 {
            match blank {
                Blank::Plain(plain) => text.push_str(plain),
                Blank::Value(expr) => text.push_str(&expr.value(scene)?.in_words(scene)?),
            }
        }
        Ok(text)
    }

    /// The text with its blanks left open, as `[n]`: what is written in the blank, in square brackets. For places where
    /// no road has been walked yet.
    #[must_use]
    pub fn open(&self) -> String {
        let mut text = String::new();
        for blank in &self.0 {
            match blank {
                Blank::Plain(plain) => text.push_str(plain),
                Blank::Value(expr) => {
                    // Writing to a string cannot fail.
                    let _ = write!(text, "[{}]", expr.source());
                }
            }
        }
        text
    }

    /// Whether there is no text at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

#[cfg(test)]
mod tests;
