//! Expressions: a bounded part of the Common Expression Language, compiled once into a small typed form.

use super::model::NameId;
use super::world::{Fault, Scene, Value};

/// A compiled expression.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expr {
    source: String,
}
/// What names mean while compiling.
pub trait Scope {
    /// Looks a name up.
    fn name(&self, name: &str) -> Option<NameId>;
}
/// Why an expression was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct ExprFault {
    /// In words.
    pub message: String,
    /// Where in the text, in characters from 0.
    pub offset: usize,
}
impl Expr {
    /// As written.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }
    /// Works the value out.
    ///
    /// # Errors
    /// See [`Fault`].
    pub fn value(&self, _scene: Scene<'_>) -> Result<Value, Fault> {
        Err(Fault::Value(self.source.clone()))
    }
}
