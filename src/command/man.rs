//! `man`: the manual page, all commands on one page.

use super::arguments::Arguments;
use super::failure::{Failure, Outcome};
use clap::{Command, CommandFactory};
use clap_mangen::Man;
use std::io::{self, Write};

/// Prints the manual page.
pub(super) fn run(out: &mut dyn Write) -> Result<Outcome, Failure> {
    let mut whole = Arguments::command();
    whole.build();
    let top = Man::new(whole.clone());
    top.render_title(out)?;
    top.render_name_section(out)?;
    top.render_synopsis_section(out)?;
    top.render_description_section(out)?;
    top.render_options_section(out)?;
    writeln!(out, ".SH COMMANDS")?;
    for command in whole.get_subcommands() {
        chapter(command, out)?;
    }
    top.render_extra_section(out)?;
    top.render_version_section(out)?;
    Ok(Outcome::Done)
}

/// One command, and the commands below it.
fn chapter(command: &Command, out: &mut dyn Write) -> io::Result<()> {
    if command.is_hide_set() {
        return Ok(());
    }
    if command.has_subcommands() {
        for below in command.get_subcommands() {
            chapter(below, out)?;
        }
        return Ok(());
    }
    let name = command
        .get_bin_name()
        .unwrap_or_else(|| command.get_name())
        .to_owned();
    writeln!(out, ".SS \"{name}\"")?;
    // What holds for all commands is said once, above.
    let own = command.clone().mut_args(|arg| {
        let everywhere = arg.is_global_set() || arg.get_id() == "help";
        arg.hide(everywhere)
    });
    let has_own = own.get_arguments().any(|arg| !arg.is_hide_set());
    let page = Man::new(own);
    let mut text = Vec::new();
    page.render_synopsis_section(&mut text)?;
    page.render_description_section(&mut text)?;
    if has_own {
        page.render_options_section(&mut text)?;
    }
    // The headings of a page of its own, one level down.
    for line in String::from_utf8_lossy(&text).lines() {
        match line {
            ".SH SYNOPSIS" | ".SH DESCRIPTION" | ".SH OPTIONS" => writeln!(out, ".PP")?,
            _ if line.starts_with(".ie ") || line.starts_with(".el ") => {}
            _ => writeln!(out, "{line}")?,
        }
    }
    Ok(())
}
