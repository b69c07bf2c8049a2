//! The memory model against its authors' own package in another language, step by step, on ten series. The file of
//! numbers is written by `tests/reference/memory.py`; `.ci/run` writes it again and compares.

use allroads::coach::{Day, Memory, PARAMETERS, Trace};

const REFERENCE: &str = include_str!("reference/memory.txt");

fn near(ours: f64, theirs: f64, what: &str) {
    let off = (ours - theirs).abs() / theirs.abs();
    assert!(
        off <= 1e-5,
        "{what}: {ours} instead of {theirs}, {off:e} off"
    );
}

#[test]
fn every_step_of_ten_series_is_as_the_reference_has_it() {
    let mut memory = Memory::default();
    let mut trace: Option<Trace> = None;
    let mut day = Day(0);
    let (mut series, mut answers, mut chances) = (0, 0, 0);
    let mut name = "";
    for line in REFERENCE.lines() {
        let (word, rest) = line.split_once(' ').unwrap();
        let numbers = || rest.split(' ').map(|n| n.parse::<f64>().unwrap());
        match word {
            "parameters" => {
                let values: Vec<f32> = rest.split(' ').map(|n| n.parse().unwrap()).collect();
                let values: [f32; PARAMETERS] = values.try_into().unwrap();
                memory = Memory::with(&values).unwrap();
            }
            "series" => {
                (trace, day, name) = (None, Day(20_000), rest);
                series += 1;
            }
            "answer" => {
                let [gap, right, lasts, resists] =
                    numbers().collect::<Vec<_>>().try_into().unwrap();
                day = day.plus(gap as i32);
                let after = memory.after(trace.as_ref(), day, right > 0.5);
                near(f64::from(after.lasts), lasts, &format!("{name}: {line}"));
                near(
                    f64::from(after.resists),
                    resists,
                    &format!("{name}: {line}"),
                );
                trace = Some(after);
                answers += 1;
            }
            "recall" => {
                let [gap, chance] = numbers().collect::<Vec<_>>().try_into().unwrap();
                let ours = memory.recall(trace.as_ref().unwrap(), day.plus(gap as i32));
                near(ours, chance, &format!("{name}: {line}"));
                chances += 1;
            }
            other => panic!("{other}"),
        }
    }
    assert_eq!((series, answers, chances), (10, 79, 50));
}
