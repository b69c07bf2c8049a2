//! Visits every state of a routine the plain way, and says how many there were, how long it took and how much memory it held.
//!
//! `explore whole ROUTINE.yaml` takes no two states for one; `explore merged ROUTINE.yaml` merges them as `prove` does. Neither
//! tries induction, odds or end tables, so that nothing but the visiting is measured.

use allroads::proof::{Ends, Limits, Verdict, Ways, prove};
use allroads::routine::load;
use std::error::Error;
use std::time::Instant;

/// The memory it may use, in bytes.
const MEMORY: usize = 8 << 30;

/// The most memory this process ever held, in MiB, as Linux tells it.
fn peak() -> Result<u64, Box<dyn Error>> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kib = line.and_then(|line| line.split_whitespace().next());
    Ok(kib.ok_or("the system does not say")?.parse::<u64>()? >> 10)
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [how, path] = arguments.as_slice() else {
        return Err("explore whole|merged ROUTINE.yaml".into());
    };
    let merge = match how.as_str() {
        "whole" => false,
        "merged" => true,
        other => return Err(format!("neither whole nor merged: {other}").into()),
    };
    let text = std::fs::read_to_string(path)?;
    let routine = load(&text, path, 0).map_err(|troubles| format!("{troubles:?}"))?;
    let ways = Ways {
        merge,
        induction: false,
        odds: false,
        ends: Ends::Never,
        ..Ways::default()
    };
    let limits = Limits {
        bytes: MEMORY,
        stop: &|| false,
        progress: &|_| (),
    };
    let start = Instant::now();
    let proof = prove(&routine, ways, &limits);
    let seconds = start.elapsed().as_secs_f64();
    let verdict = match proof.verdict {
        Verdict::SureFire => "holds",
        Verdict::Refuted => "fails",
        Verdict::Unfinished => "unfinished",
    };
    let rate = proof.states as f64 / seconds;
    println!(
        "{verdict} states={} seconds={seconds:.4} per-second={rate:.0} peak-mib={}",
        proof.states,
        peak()?
    );
    Ok(())
}
