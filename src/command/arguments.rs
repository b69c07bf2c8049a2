//! The command line.

use super::{
    check, completions, find, log, new, plan, progress, prove, rehearse, rescue, reset, setup,
    sheet, shows, slip, sound_check, walk,
};
use clap::{Parser, Subcommand};
use std::path::PathBuf;

/// Rehearse self-working card routines: every road the spectators can take.
///
/// Without a command, the foyer opens: your routines, how they stand, one key to start.
///
/// ROUTINE is the name of a routine that comes with the program, or the path of a file of your own.
#[derive(Debug, Parser)]
#[command(
    name = "allroads",
    version,
    propagate_version = false,
    disable_help_subcommand = true,
    max_term_width = 100,
    after_help = "Exit codes: 0 done and true; 1 a claim fails or a check found something; 2 a wrong command line or file; 3 a budget ran out; 4 the machine failed us."
)]
pub struct Arguments {
    /// Keep the logbook in this folder (as the variable ALLROADS_DATA does)
    #[arg(long, global = true, value_name = "DIR")]
    pub data: Option<PathBuf>,
    /// Use no colour (as the variable NO_COLOR does)
    #[arg(long, global = true)]
    pub no_color: bool,
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Rehearse a routine
    Rehearse(rehearse::RehearseArgs),
    /// Prove that the ending holds on every road, or find the road on which it fails
    Prove(prove::ProveArgs),
    /// Find the set-ups that work: every pattern of classes with which a routine is sure-fire, or that a handling leaves unchanged
    Find(find::FindArgs),
    /// Plan the rehearsals until a show
    Plan(plan::PlanArgs),
    /// Write down what happened on stage, list the shows, take one out
    Shows(shows::ShowsArgs),
    /// Walk one road of a routine
    Walk(walk::WalkArgs),
    /// Say what to do when a spectator does something that was not offered
    Rescue(rescue::RescueArgs),
    /// Say which handling mistake explains the packet you ended with
    Slip(slip::SlipArgs),
    /// Show how the cards lie before the routine begins
    Setup(setup::SetupArgs),
    /// Say how to get back to the set-up afterwards
    Reset(reset::ResetArgs),
    /// Show how the steps and the weeks stand: here, as a page, or for programs
    Progress(progress::ProgressArgs),
    /// Write a one-page cue sheet of a routine
    Sheet(sheet::SheetArgs),
    /// Write a commented routine to begin from
    New(new::NewArgs),
    /// Look for faults in routines
    Check(check::CheckArgs),
    /// Print a JSON Schema of routine files, for editors
    Schema,
    /// Play every cue and every voice once, and say where sound comes out
    SoundCheck(sound_check::SoundCheckArgs),
    /// Export, import, copy, check the logbook, or add a practice to it
    Log(log::LogArgs),
    /// Print completions for a shell
    Completions(completions::CompletionsArgs),
    /// Print the manual page
    Man,
}
