//! Letters so large that they are read from two metres: five rows of blocks, or ten where there is room.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Rows of a letter before it is made larger.
pub const ROWS: u16 = 5;

/// The shape of a letter, row by row; letters that have none are left out.
fn shape(letter: char) -> Option<[&'static str; 5]> {
    Some(match letter {
        'A' => [".###.", "#...#", "#####", "#...#", "#...#"],
        'B' => ["####.", "#...#", "####.", "#...#", "####."],
        'C' => [".####", "#....", "#....", "#....", ".####"],
        'D' => ["####.", "#...#", "#...#", "#...#", "####."],
        'E' => ["#####", "#....", "####.", "#....", "#####"],
        'F' => ["#####", "#....", "####.", "#....", "#...."],
        'G' => [".####", "#....", "#..##", "#...#", ".####"],
        'H' => ["#...#", "#...#", "#####", "#...#", "#...#"],
        'I' => ["###", ".#.", ".#.", ".#.", "###"],
        'J' => ["..###", "...#.", "...#.", "#..#.", ".##.."],
        'K' => ["#...#", "#..#.", "###..", "#..#.", "#...#"],
        'L' => ["#....", "#....", "#....", "#....", "#####"],
        'M' => ["#...#", "##.##", "#.#.#", "#...#", "#...#"],
        'N' => ["#...#", "##..#", "#.#.#", "#..##", "#...#"],
        'O' => [".###.", "#...#", "#...#", "#...#", ".###."],
        'P' => ["####.", "#...#", "####.", "#....", "#...."],
        'Q' => [".###.", "#...#", "#.#.#", "#..#.", ".##.#"],
        'R' => ["####.", "#...#", "####.", "#..#.", "#...#"],
        'S' => [".####", "#....", ".###.", "....#", "####."],
        'T' => ["#####", "..#..", "..#..", "..#..", "..#.."],
        'U' => ["#...#", "#...#", "#...#", "#...#", ".###."],
        'V' => ["#...#", "#...#", "#...#", ".#.#.", "..#.."],
        'W' => ["#...#", "#...#", "#.#.#", "##.##", "#...#"],
        'X' => ["#...#", ".#.#.", "..#..", ".#.#.", "#...#"],
        'Y' => ["#...#", ".#.#.", "..#..", "..#..", "..#.."],
        'Z' => ["#####", "...#.", "..#..", ".#...", "#####"],
        '0' => [".###.", "#..##", "#.#.#", "##..#", ".###."],
        '1' => [".#.", "##.", ".#.", ".#.", "###"],
        '2' => ["####.", "....#", ".###.", "#....", "#####"],
        '3' => ["####.", "....#", ".###.", "....#", "####."],
        '4' => ["#..#.", "#..#.", "#####", "...#.", "...#."],
        '5' => ["#####", "#....", "####.", "....#", "####."],
        '6' => [".###.", "#....", "####.", "#...#", ".###."],
        '7' => ["#####", "...#.", "..#..", ".#...", ".#..."],
        '8' => [".###.", "#...#", ".###.", "#...#", ".###."],
        '9' => [".###.", "#...#", ".####", "....#", ".###."],
        ':' => [".", "#", ".", "#", "."],
        '+' => ["...", ".#.", "###", ".#.", "..."],
        '-' => ["...", "...", "###", "...", "..."],
        '?' => ["###.", "...#", ".##.", "....", ".#.."],
        '!' => ["#", "#", "#", ".", "#"],
        ' ' => ["..", "..", "..", "..", ".."],
        _ => return None,
    })
}

/// A letter without what stands over or under it in other languages.
fn bare(letter: char) -> char {
    let capital = letter.to_uppercase().next().unwrap_or(letter);
    if shape(capital).is_some() {
        return capital;
    }
    super::theme::fold(capital).to_ascii_uppercase()
}

/// How many cells a word takes before it is made larger.
#[must_use]
pub fn width(word: &str) -> u16 {
    let cells: usize = word
        .chars()
        .filter_map(|letter| shape(bare(letter)))
        .map(|rows| rows[0].len() + 1)
        .sum();
    u16::try_from(cells.saturating_sub(1)).unwrap_or(u16::MAX)
}

/// As much of a text as fits into so many cells: whole words from its beginning, or a word cut off.
fn fitting(text: &str, room: u16) -> String {
    let mut whole = String::new();
    for word in text.split_whitespace() {
        let longer = if whole.is_empty() {
            word.to_owned()
        } else {
            format!("{whole} {word}")
        };
        if width(&longer) > room {
            break;
        }
        whole = longer;
    }
    if whole.is_empty() {
        whole = text
            .split_whitespace()
            .next()
            .unwrap_or_default()
            .to_owned();
        while width(&whole) > room {
            whole.pop();
        }
    }
    whole
}

/// Draws a word as large as the area allows, at its left. Gives the rows that it takes.
pub fn draw(word: &str, area: Rect, buffer: &mut Buffer, style: Style) -> u16 {
    let word = fitting(word, area.width);
    let cells = width(&word);
    if cells == 0 || area.height < ROWS {
        return 0;
    }
    // A cell is about twice as high as wide: twice as wide as high looks square.
    let (across, down) = [(4, 2), (2, 2), (2, 1), (1, 1)]
        .into_iter()
        .find(|(across, down)| {
            cells.saturating_mul(*across) <= area.width && ROWS * down <= area.height
        })
        .unwrap_or((1, 1));
    let mut x = area.x;
    for rows in word.chars().filter_map(|letter| shape(bare(letter))) {
        let mut wide = 0;
        for (row, line) in (0_u16..).zip(rows) {
            for (column, cell) in (0_u16..).zip(line.chars()) {
                if cell == '#' {
                    fill(
                        Rect {
                            x: x + column * across,
                            y: area.y + row * down,
                            width: across,
                            height: down,
                        },
                        buffer,
                        style,
                    );
                }
                wide = wide.max(column + 1);
            }
        }
        x += (wide + 1) * across;
    }
    ROWS * down
}

fn fill(block: Rect, buffer: &mut Buffer, style: Style) {
    for y in block.top()..block.bottom() {
        for x in block.left()..block.right() {
            if let Some(cell) = buffer.cell_mut((x, y)) {
                cell.set_char('█').set_style(style);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_has_five_rows_of_one_width() {
        for letter in ('A'..='Z').chain('0'..='9').chain(":+-?! ".chars()) {
            let rows = shape(letter).unwrap();
            assert!(
                rows.iter().all(|row| row.len() == rows[0].len()),
                "{letter}"
            );
            assert!(letter == ' ' || rows.iter().any(|row| row.contains('#')));
        }
    }

    #[test]
    fn no_two_letters_look_alike() {
        let all: Vec<char> = ('A'..='Z')
            .chain('0'..='9')
            .chain(":+-?!".chars())
            .collect();
        for (n, one) in all.iter().enumerate() {
            for other in &all[n + 1..] {
                assert_ne!(shape(*one), shape(*other), "{one} {other}");
            }
        }
    }

    #[test]
    fn a_word_grows_with_the_room_and_never_leaves_it() {
        for (width, height, rows) in [(18, 5, 5), (40, 5, 5), (80, 10, 10), (80, 4, 0)] {
            let area = Rect::new(0, 0, width, height);
            let mut buffer = Buffer::empty(area);
            assert_eq!(draw("CUT", area, &mut buffer, Style::new()), rows);
        }
    }

    #[test]
    fn what_does_not_fit_is_left_out_word_by_word() {
        assert_eq!(fitting("DEAL THE CARDS", 48), "DEAL THE");
        assert_eq!(fitting("UNBELIEVABLE", 20), "UNB");
        assert_eq!(fitting("Höhe", 80), "Höhe");
        assert_eq!(width("Höhe"), width("HOHE"));
    }
}
