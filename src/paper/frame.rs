//! What every page has alike.

use super::markup::{Element, el};
use super::palette::{DAY, NIGHT, PRINT};

const SHEET: &str = include_str!("style.css");

/// A whole page: its title for the window, and what stands in its middle. The words are English; what is in another language says
/// so itself.
#[must_use]
pub fn page(title: &str, contents: Vec<Element>) -> String {
    let head = el("head")
        .with(el("meta").set("charset", "utf-8"))
        .with(
            el("meta")
                .set("name", "viewport")
                .set("content", "width=device-width, initial-scale=1"),
        )
        .with(
            el("meta")
                .set("name", "color-scheme")
                .set("content", "light dark"),
        )
        // Nothing but the page itself: no network, no script.
        .with(
            el("meta")
                .set("http-equiv", "Content-Security-Policy")
                .set("content", "default-src 'none'; style-src 'unsafe-inline'"),
        )
        .with(el("title").text(title))
        .with(Element::style(style()));
    let main = el("main").each(contents);
    let html = el("html")
        .set("lang", "en")
        .with(head)
        .with(el("body").with(main));
    format!("<!DOCTYPE html>\n{}\n", html.written())
}

/// The style sheet: colours by day, by night, and in print.
fn style() -> String {
    let (day, night, print) = (DAY.variables(), NIGHT.variables(), PRINT.variables());
    format!(
        ":root{{color-scheme:light dark;{day}}}\n@media (prefers-color-scheme:dark){{:root{{{night}}}}}\n@media print{{:root{{color-scheme:light;{print}}}}}\n{SHEET}"
    )
}

/// A region that scrolls by itself where it is wider than the window, reached by keyboard too.
#[must_use]
pub fn scrolling(name: &str, contents: Element) -> Element {
    el("div")
        .class("scroll")
        .set("role", "region")
        .set("tabindex", "0")
        .set("aria-label", name)
        .with(contents)
}

/// A picture: its size in its own units, a name, and what it shows, in words. `id` must be unique on the page.
#[must_use]
pub fn picture(id: &str, (width, height): (f64, f64), name: &str, shows: &str) -> Element {
    let (title, described) = (format!("{id}-name"), format!("{id}-shows"));
    el("svg")
        .set("role", "img")
        .set("viewBox", format!("0 0 {width} {height}"))
        .set("aria-labelledby", title.clone())
        .set("aria-describedby", described.clone())
        .with(el("title").set("id", title).text(name))
        .with(el("desc").set("id", described).text(shows))
}

/// A table's head.
#[must_use]
pub fn head(columns: &[(&str, bool)]) -> Element {
    el("thead").with(el("tr").each(columns.iter().map(|(name, number)| {
        let column = el("th").set("scope", "col").text(*name);
        if *number { column.class("n") } else { column }
    })))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_style_sheet_holds_nothing_that_ends_it_or_reaches_out() {
        let style = style();
        for bad in ["<", "&", "url(", "@import", "http"] {
            assert!(!style.contains(bad), "{bad}");
        }
    }
}
