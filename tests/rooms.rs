//! The rule of the rooms, held against the code: imports only go up the list, what is pure stays pure, and no code
//! knows a routine that comes with the program.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use std::path::{Path, PathBuf};

/// The rooms from the top: each may use those before it.
const ROOMS: [&str; 15] = [
    "cards", "table", "handling", "routine", "roads", "knowing", "proof", "rescue", "drill",
    "coach", "logbook", "voice", "screen", "paper", "command",
];

/// These may use all rooms.
const FREE: [&str; 2] = ["screen", "command"];

/// The last pure room: it and all above it do no input or output, and have no clock and no randomness of their own.
const LAST_PURE: &str = "coach";

/// Parts of the standard library that a pure room must not use.
const IMPURE_STD: [&str; 6] = ["fs", "io", "env", "net", "os", "process"];

/// Names that a pure room must not use, from wherever they are imported.
const IMPURE_NAMES: [&str; 20] = [
    // Clocks.
    "Instant",
    "SystemTime",
    "chrono",
    "Utc",
    "Local",
    // Randomness that nobody passed in; the maps of the standard library are seeded by the machine.
    "rng",
    "thread_rng",
    "from_os_rng",
    "try_from_os_rng",
    "OsRng",
    "SysRng",
    "ThreadRng",
    "getrandom",
    "RandomState",
    "HashMap",
    "HashSet",
    // The machine.
    "rusqlite",
    "crossterm",
    "ratatui",
    "rodio",
];

/// Macros that write.
const WRITING: [&str; 5] = ["println", "print", "eprintln", "eprint", "dbg"];

/// Rust source with comments, strings and characters blanked; line breaks stay.
fn code_only(source: &str) -> String {
    let text: Vec<char> = source.chars().collect();
    let mut code = String::with_capacity(source.len());
    let mut i = 0;
    // Skips to `end`, keeping the line breaks.
    let blank = |code: &mut String, from: usize, to: usize| {
        code.push(' ');
        code.extend(text[from..to].iter().filter(|c| **c == '\n'));
    };
    while i < text.len() {
        let rest = &text[i..];
        let before = i.checked_sub(1).map_or(' ', |j| text[j]);
        let in_word = before.is_alphanumeric() || before == '_';
        let length = if rest.starts_with(&['/', '/']) {
            rest.iter().position(|c| *c == '\n').unwrap_or(rest.len())
        } else if rest.starts_with(&['/', '*']) {
            block_comment(rest)
        } else if rest[0] == '"' {
            string(rest)
        } else if !in_word && rest[0] == 'r' && raw_string(rest) > 0 {
            raw_string(rest)
        } else if rest[0] == '\'' {
            character(rest)
        } else {
            0
        };
        if length > 0 {
            blank(&mut code, i, i + length);
            i += length;
        } else {
            code.push(text[i]);
            i += 1;
        }
    }
    code
}

fn block_comment(rest: &[char]) -> usize {
    let (mut depth, mut i) = (0, 0);
    while i < rest.len() {
        if rest[i..].starts_with(&['/', '*']) {
            depth += 1;
            i += 2;
        } else if rest[i..].starts_with(&['*', '/']) {
            depth -= 1;
            i += 2;
            if depth == 0 {
                break;
            }
        } else {
            i += 1;
        }
    }
    i
}

fn string(rest: &[char]) -> usize {
    let mut i = 1;
    while i < rest.len() && rest[i] != '"' {
        i += if rest[i] == '\\' { 2 } else { 1 };
    }
    (i + 1).min(rest.len())
}

/// The length of a raw string, 0 if there is none.
fn raw_string(rest: &[char]) -> usize {
    let hashes = rest[1..].iter().take_while(|c| **c == '#').count();
    if rest.get(1 + hashes) != Some(&'"') {
        return 0;
    }
    let mut end = vec!['"'];
    end.extend(std::iter::repeat_n('#', hashes));
    (2 + hashes..rest.len())
        .find(|i| rest[*i..].starts_with(&end))
        .map_or(rest.len(), |i| i + end.len())
}

/// The length of a character literal, 0 for a lifetime.
fn character(rest: &[char]) -> usize {
    match rest.get(1) {
        Some('\\') => rest[3..]
            .iter()
            .position(|c| *c == '\'')
            .map_or(0, |i| i + 4),
        Some(_) if rest.get(2) == Some(&'\'') => 3,
        _ => 0,
    }
}

/// A word or a sign of the code, with its line.
#[derive(Debug, Clone, PartialEq)]
struct Token {
    text: String,
    line: usize,
}

fn tokens(code: &str) -> Vec<Token> {
    let mut found: Vec<Token> = Vec::new();
    for (number, line) in code.lines().enumerate() {
        let mut word = String::new();
        let mut take = |text: String| {
            if !text.is_empty() {
                found.push(Token {
                    text,
                    line: number + 1,
                });
            }
        };
        for c in line.chars() {
            if c.is_alphanumeric() || c == '_' {
                word.push(c);
            } else {
                take(std::mem::take(&mut word));
                if !c.is_whitespace() {
                    take(c.to_string());
                }
            }
        }
        take(word);
    }
    found
}

fn matches(tokens: &[Token], at: usize, words: &[&str]) -> bool {
    words
        .iter()
        .enumerate()
        .all(|(i, word)| tokens.get(at + i).is_some_and(|t| t.text == *word))
}

/// Where the bracket opened at `open` is closed.
fn closing(tokens: &[Token], open: usize) -> usize {
    let mut depth = 0;
    for (i, token) in tokens.iter().enumerate().skip(open) {
        match token.text.as_str() {
            "{" => depth += 1,
            "}" => {
                depth -= 1;
                if depth == 0 {
                    return i;
                }
            }
            _ => {}
        }
    }
    tokens.len()
}

/// Without the modules that are built for tests only.
fn without_tests(tokens: &[Token]) -> Vec<Token> {
    let mut kept = Vec::new();
    let mut i = 0;
    while i < tokens.len() {
        if matches(tokens, i, &["#", "[", "cfg", "(", "test", ")", "]"]) {
            // The item ends at its first `;`, or with the bracket it opens.
            let end = (i..tokens.len())
                .find(|j| [";", "{"].contains(&tokens[*j].text.as_str()))
                .unwrap_or(tokens.len() - 1);
            i = if tokens[end].text == "{" {
                closing(tokens, end) + 1
            } else {
                end + 1
            };
        } else {
            kept.push(tokens[i].clone());
            i += 1;
        }
    }
    kept
}

/// The first names after `root ::`, of groups each member's.
fn firsts(tokens: &[Token], root: &str) -> Vec<Token> {
    let mut found = Vec::new();
    for i in 0..tokens.len() {
        if !matches(tokens, i, &[root, ":", ":"]) {
            continue;
        }
        let Some(next) = tokens.get(i + 3) else {
            continue;
        };
        if next.text != "{" {
            found.push(next.clone());
            continue;
        }
        let mut depth = 0;
        for j in i + 3..=closing(tokens, i + 3).min(tokens.len() - 1) {
            match tokens[j].text.as_str() {
                "{" => depth += 1,
                "}" => depth -= 1,
                _ if depth == 1 && ["{", ","].contains(&tokens[j - 1].text.as_str()) => {
                    found.push(tokens[j].clone());
                }
                _ => {}
            }
        }
    }
    found
}

fn rank(room: &str) -> Option<usize> {
    ROOMS.iter().position(|r| *r == room)
}

/// The offences of one file against the rule; `path` from `src`, with `/`.
fn offences(path: &str, source: &str) -> Vec<String> {
    let parts: Vec<&str> = path.split('/').collect();
    let Some((room, _)) = parts.split_first().filter(|(_, rest)| !rest.is_empty()) else {
        return Vec::new();
    };
    let Some(own) = rank(room) else {
        return vec![format!("{path}: `{room}` is not among the rooms")];
    };
    let name = parts[parts.len() - 1];
    if name == "tests.rs" || name.ends_with("_tests.rs") || parts.contains(&"tests") {
        return Vec::new();
    }
    let tokens = without_tests(&tokens(&code_only(source)));
    let mut found = Vec::new();
    let mut tell =
        |token: &Token, what: String| found.push(format!("{path}:{}: {what}", token.line));
    for used in firsts(&tokens, "crate") {
        match rank(&used.text) {
            None => tell(&used, format!("`crate::{}` is no room", used.text)),
            Some(other) if other > own && !FREE.contains(room) => tell(
                &used,
                format!("`{room}` may not use `{}`, which is below it", used.text),
            ),
            Some(_) => {}
        }
    }
    // `super` must not lead out of the room, past the list.
    let depth = parts.len() - usize::from(name == "mod.rs");
    for i in 0..tokens.len() {
        let mut ups = 0;
        while matches(&tokens, i + 3 * ups, &["super", ":", ":"]) {
            ups += 1;
        }
        if ups >= depth {
            tell(
                &tokens[i],
                "`super` leads out of the room; write `crate`".to_owned(),
            );
        }
    }
    if rank(LAST_PURE).is_some_and(|last| own <= last) {
        for used in firsts(&tokens, "std") {
            if IMPURE_STD.contains(&used.text.as_str()) {
                tell(&used, format!("`std::{}` in a pure room", used.text));
            }
        }
        for (i, token) in tokens.iter().enumerate() {
            // A field or a method of our own may be called so.
            let own_name = i > 0 && tokens[i - 1].text == ".";
            let writes = WRITING.contains(&token.text.as_str()) && matches(&tokens, i + 1, &["!"]);
            if writes || !own_name && IMPURE_NAMES.contains(&token.text.as_str()) {
                tell(token, format!("`{}` in a pure room", token.text));
            }
        }
    }
    found
}

/// Words by which a shipped routine would be known: its name, a title of several words, step ids of several words.
fn telling_words(name: &str, text: &str) -> Vec<String> {
    let mut words = vec![name.to_owned()];
    for line in text.lines() {
        let line = line.trim_start().trim_start_matches("- ");
        if let Some(title) = line.strip_prefix("title: ") {
            let title = title.trim_matches(|c: char| c == '"' || c == '\'');
            // Two words such as "The end" are anybody's.
            if title.split_whitespace().count() > 2 {
                words.push(title.to_owned());
            }
        } else if let Some(id) = line.strip_prefix("id: ")
            && id.contains('-')
        {
            words.push(id.to_owned());
        }
    }
    words
}

/// The words found in a text as whole words, whatever their case.
fn mentions<'a>(text: &str, words: &'a [String]) -> Vec<&'a str> {
    let text = text.to_lowercase();
    let part = |c: char| c.is_alphanumeric() || c == '_' || c == '-';
    words
        .iter()
        .filter(|word| {
            let word = word.to_lowercase();
            text.match_indices(&word).any(|(at, _)| {
                !text[..at].ends_with(part) && !text[at + word.len()..].starts_with(part)
            })
        })
        .map(String::as_str)
        .collect()
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// All files below a folder with this ending, each with its path from the folder and its text.
fn files(folder: &Path, ending: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(here) = open.pop() {
        for entry in std::fs::read_dir(&here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == ending) {
                let parts: Vec<_> = path
                    .strip_prefix(folder)
                    .unwrap()
                    .iter()
                    .map(|p| p.to_str().unwrap().to_owned())
                    .collect();
                found.push((parts.join("/"), std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

#[test]
fn imports_only_go_up_and_pure_rooms_stay_pure() {
    let sources = files(&root().join("src"), "rs");
    assert!(
        sources.len() > 40,
        "only {} files were found",
        sources.len()
    );
    let found: Vec<String> = sources
        .iter()
        .flat_map(|(path, text)| offences(path, text))
        .collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn no_code_mentions_a_shipped_routine() {
    let shipped = files(&root().join("drills"), "yaml");
    assert!(!shipped.is_empty());
    let words: Vec<String> = shipped
        .iter()
        .flat_map(|(path, text)| telling_words(path.trim_end_matches(".yaml"), text))
        .collect();
    assert!(words.len() > 2 * shipped.len(), "{words:?}");
    let mut found = Vec::new();
    for (path, text) in files(&root().join("src"), "rs") {
        // The one table that puts them into the program.
        if path == "command/shipped.rs" {
            continue;
        }
        for word in mentions(&text, &words) {
            found.push(format!("{path}: {word}"));
        }
    }
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn the_list_of_rooms_is_the_list_of_the_library() {
    let sources = files(&root().join("src"), "rs");
    let (_, map) = sources.iter().find(|(path, _)| path == "lib.rs").unwrap();
    let told: Vec<&str> = map
        .lines()
        .filter_map(|line| line.strip_prefix("//! | [`")?.split('`').next())
        .collect();
    let ranks: Vec<usize> = told.iter().map(|room| rank(room).unwrap()).collect();
    assert!(
        ranks.is_sorted(),
        "lib.rs tells the rooms in another order: {told:?}"
    );
    for (path, _) in &sources {
        if let Some((room, _)) = path.split_once('/') {
            assert!(
                told.contains(&room),
                "lib.rs does not tell of the room {room}"
            );
        }
    }
}

#[test]
fn planted_offences_are_caught() {
    let caught = |path: &str, source: &str| offences(path, source).len();
    // Imports.
    assert_eq!(caught("cards/mod.rs", "use crate::drill::Session;"), 1);
    assert_eq!(
        caught("cards/mod.rs", "use crate::{table::{Pile, screen}, roads};"),
        2
    );
    assert_eq!(
        caught("logbook/a.rs", "fn f(x: crate::screen::Frame) {}"),
        1
    );
    assert_eq!(
        caught(
            "drill/a.rs",
            "use crate::routine::{Value, World};\nuse crate::logbook;"
        ),
        1
    );
    assert_eq!(caught("drill/a.rs", "use super::super::cards::Card;"), 1);
    assert_eq!(caught("drill/mod.rs", "use super::cards::Card;"), 1);
    assert_eq!(caught("attic/mod.rs", ""), 1);
    assert_eq!(caught("drill/a.rs", "use crate::run;"), 1);
    // Purity.
    assert_eq!(caught("cards/a.rs", "use std::{fmt, fs};"), 1);
    assert_eq!(
        caught("cards/a.rs", "let t = std::time::Instant::now();"),
        1
    );
    assert_eq!(caught("roads/a.rs", "let r = rand::rng();"), 1);
    assert_eq!(caught("roads/a.rs", "let now = chrono::Utc::now();"), 2);
    assert_eq!(caught("knowing/a.rs", "use std::collections::HashMap;"), 1);
    assert_eq!(caught("knowing/a.rs", "println!(\"x\");"), 1);
    // After a string with a quote, a lifetime and a character, the code is still seen.
    let hidden = "const A: &str = \"\\\"\"; fn f<'a>(c: &'a char) { '\"'; r#\"\"\"#; }\nuse crate::command::run;";
    assert_eq!(
        offences("table/mod.rs", hidden),
        ["table/mod.rs:2: `table` may not use `command`, which is below it"]
    );
    // No offences.
    assert_eq!(
        caught(
            "drill/a.rs",
            "use crate::{cards::Card, knowing};\nuse super::question;"
        ),
        0
    );
    assert_eq!(caught("screen/a.rs", "use crate::command::Source;"), 0);
    assert_eq!(
        caught("logbook/a.rs", "use std::fs;\nuse crate::drill::Answered;"),
        0
    );
    assert_eq!(
        caught(
            "cards/a.rs",
            "// use std::fs;\n/* crate::drill */ const S: &str = \"std::fs\";"
        ),
        0
    );
    assert_eq!(
        caught(
            "cards/a.rs",
            "#[cfg(test)]\nmod tests { use std::fs; use crate::drill; }"
        ),
        0
    );
    assert_eq!(
        caught("cards/a.rs", "#[cfg(test)]\nmod tests;\nuse std::fs;"),
        1
    );
    assert_eq!(caught("cards/a_tests.rs", "use std::fs;"), 0);
}

#[test]
fn planted_names_are_caught() {
    let file = "title: The Old Lift\nsteps:\n  - id: push-off\n    title: One more push\n  - id: deal\n    title: The end\n";
    let words = telling_words("lift-song", file);
    assert_eq!(
        words,
        ["lift-song", "The Old Lift", "push-off", "One more push"]
    );
    assert_eq!(mentions("if id == \"push-off\" {", &words), ["push-off"]);
    assert_eq!(mentions("// as in the old lift.", &words), ["The Old Lift"]);
    assert!(mentions("push-offs, my-push-off, lift_song", &words).is_empty());
}
