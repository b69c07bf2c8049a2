//! What is looked at before the parser sees an expression: its length, how deep it nests, and the slips that people make.
//! The parser recurses, so a stranger's file must not decide how deep.

use super::ExprFault;

/// The longest expression, in characters.
pub const LONGEST: usize = 200;
/// How deep brackets may nest, and how many `?` there may be: deeper than people can read, far from what the stack holds.
const DEEPEST: usize = 12;

/// Words that the Common Expression Language keeps for itself.
const RESERVED: [&str; 21] = [
    "as",
    "break",
    "const",
    "continue",
    "else",
    "false",
    "for",
    "function",
    "if",
    "import",
    "in",
    "let",
    "loop",
    "namespace",
    "null",
    "package",
    "return",
    "true",
    "var",
    "void",
    "while",
];

/// Why a name cannot be used in expressions; `None` when it can. For names of piles, choices, reckonings, tables.
#[must_use]
pub fn name_fault(name: &str) -> Option<String> {
    let mut letters = name.chars();
    let starts = letters.next().is_some_and(|c| c.is_ascii_alphabetic());
    if !starts || !letters.all(|c| c.is_ascii_alphanumeric() || c == '_') {
        return Some(format!(
            "`{name}` cannot be a name: use letters a to z, digits and `_`, and begin with a letter"
        ));
    }
    RESERVED.contains(&name).then(|| {
        format!("`{name}` cannot be a name: expressions use this word themselves; choose another")
    })
}

fn fault(message: impl Into<String>, offset: usize) -> ExprFault {
    ExprFault {
        message: message.into(),
        offset,
    }
}

/// Refuses what the parser must not see, or would explain badly. Gives how deep the expression nests at most.
pub(super) fn precheck(source: &str) -> Result<usize, ExprFault> {
    let letters: Vec<char> = source.chars().take(LONGEST + 1).collect();
    if letters.len() > LONGEST {
        return Err(fault(
            format!(
                "an expression may have {LONGEST} characters at most; split it over several reckonings"
            ),
            LONGEST,
        ));
    }
    if source.trim().is_empty() {
        return Err(fault("there is nothing here; write an expression", 0));
    }
    let mut open: Vec<(char, usize)> = Vec::new();
    let mut questions = 0;
    let mut deepest = 0;
    let mut i = 0;
    while let Some(&c) = letters.get(i) {
        let next = letters.get(i + 1).copied();
        match c {
            '"' | '\'' => {
                i = closing_quote(&letters, i)?;
            }
            '(' | '[' => {
                open.push((c, i));
                deepest = deepest.max(open.len());
                if open.len() > DEEPEST {
                    return Err(fault(
                        format!(
                            "brackets nest deeper than {DEEPEST} here; split it over several reckonings"
                        ),
                        i,
                    ));
                }
            }
            ')' | ']' => match open.pop() {
                Some(('(', _)) if c == ')' => {}
                Some(('[', _)) if c == ']' => {}
                Some((other, at)) => {
                    return Err(fault(
                        format!("`{c}` does not close the `{other}` at character {}", at + 1),
                        i,
                    ));
                }
                None => return Err(fault(format!("`{c}` closes nothing; take it away"), i)),
            },
            '?' => {
                questions += 1;
                if questions > DEEPEST {
                    return Err(fault(
                        format!(
                            "more than {DEEPEST} `?` in one expression; use a small table instead"
                        ),
                        i,
                    ));
                }
            }
            '=' | '<' | '>' | '!' if next == Some('=') => i += 1,
            '=' => return Err(fault("to compare, write `==`", i)),
            '&' | '|' if next == Some(c) => i += 1,
            '&' => return Err(fault("for \"and\", write `&&`", i)),
            '|' => return Err(fault("for \"or\", write `||`", i)),
            '/' if next == Some('/') => {
                return Err(fault("a comment cannot stand in an expression", i));
            }
            '<' | '>' | '!' | '+' | '-' | '*' | '/' | '%' | ':' | ',' => {}
            '.' => {
                let message = if next.is_some_and(|n| n.is_ascii_digit()) {
                    "only whole numbers here; there are no fractions"
                } else {
                    "there is no `.` in this language; write a function, such as `size(pile)`"
                };
                return Err(fault(message, i));
            }
            '≤' => return Err(fault("write `<=`", i)),
            '≥' => return Err(fault("write `>=`", i)),
            '≠' => return Err(fault("write `!=`", i)),
            '×' => return Err(fault("write `*` to multiply", i)),
            '÷' => return Err(fault("write `/` to divide", i)),
            '−' => return Err(fault("write the plain `-` for minus", i)),
            '“' | '”' | '„' | '‘' | '’' | '«' | '»' => {
                return Err(fault("write plain quotes: `\"word\"`", i));
            }
            ' ' | '\t' => {}
            c if c.is_ascii_alphanumeric() || c == '_' => i = end_of_word(&letters, i)?,
            c if unseen(c) => return Err(hidden(c, i)),
            c => return Err(fault(format!("`{c}` cannot stand in an expression"), i)),
        }
        i += 1;
    }
    match open.pop() {
        Some((c, at)) => Err(fault(format!("this `{c}` is never closed"), at)),
        None => Ok(deepest + questions),
    }
}

/// The index of the quote that closes the one at `start`.
fn closing_quote(letters: &[char], start: usize) -> Result<usize, ExprFault> {
    let quote = letters[start];
    if start > 0 && letters[start - 1].is_ascii_alphanumeric() {
        return Err(fault(
            "a word in quotes cannot follow a letter or digit directly",
            start,
        ));
    }
    let mut i = start + 1;
    while let Some(&c) = letters.get(i) {
        if c == quote {
            if letters.get(i + 1) == Some(&quote) {
                return Err(fault(
                    "two quotes in a row; write a word between single quotes",
                    i,
                ));
            }
            return Ok(i);
        }
        if c == '\\' {
            return Err(fault("`\\` cannot stand in a word here", i));
        }
        if unseen(c) {
            return Err(hidden(c, i));
        }
        i += 1;
    }
    Err(fault(
        format!("this {quote} is never closed by another"),
        start,
    ))
}

/// The index of the last character of the name or number that begins at `start`.
fn end_of_word(letters: &[char], start: usize) -> Result<usize, ExprFault> {
    let word: String = letters[start..]
        .iter()
        .take_while(|c| c.is_ascii_alphanumeric() || **c == '_')
        .collect();
    if word.chars().all(|c| c.is_ascii_digit()) && word.parse::<i64>().is_err() {
        return Err(fault("this number is too large", start));
    }
    if !["true", "false", "in"].contains(&word.as_str()) && RESERVED.contains(&word.as_str()) {
        let hint = match word.as_str() {
            "if" | "else" => "; a choice is written `a ? b : c`",
            _ => "",
        };
        return Err(fault(format!("`{word}` means nothing here{hint}"), start));
    }
    Ok(start + word.len() - 1)
}

/// Characters that cannot be seen, or that change how others are shown: controls, marks of writing direction, joiners.
fn unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

fn hidden(c: char, at: usize) -> ExprFault {
    fault(
        format!(
            "an unseen character (U+{:04X}) stands here; take it away",
            u32::from(c)
        ),
        at,
    )
}
