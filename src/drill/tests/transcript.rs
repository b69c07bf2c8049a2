use super::play::{plan, play, shipped};
use crate::drill::{Drill, Prompt};

#[test]
fn transcript() {
    for routine in shipped() {
        println!("\n######## {}", routine.title);
        for drill in Drill::ALL {
            println!("\n==== {}", drill.word());
            let start = std::time::Instant::now();
            let mut n = 0;
            let played = play(&routine, plan(&[drill], 14, 7), |_, q| {
                n += 1;
                if n % 5 == 3 {
                    "-".into()
                } else {
                    q.expected_keys.clone()
                }
            });
            println!("  took {:?}", start.elapsed());
            for prompt in &played.prompts {
                match prompt {
                    Prompt::Tell(tell) if drill == Drill::Picture => {
                        println!("  [{}] {:?} | {:?}", tell.title, tell.handling, tell.seen)
                    }
                    Prompt::Tell(_) => {}
                    Prompt::Ask(q) => println!(
                        "{} ? {} ({}) -> {} [{}] {}",
                        q.key.step,
                        q.text,
                        q.answer_as,
                        q.expected_words,
                        q.expected_keys,
                        q.key.detail
                    ),
                    Prompt::Correct(c) => println!(
                        "    MISS: {} | {} | {:?}",
                        c.answer,
                        c.why,
                        c.packet
                            .iter()
                            .map(|s| (
                                s.pile,
                                s.count,
                                s.tiles.iter().filter(|t| t.card.is_some()).count()
                            ))
                            .collect::<Vec<_>>()
                    ),
                    Prompt::Line(l) => println!(
                        "    LINE {} {:?}",
                        l.line.chars().take(60).collect::<String>(),
                        l.handling
                    ),
                    Prompt::Done(_) => {}
                }
            }
            println!("  given: {:?}", played.asked.last().map(|q| &q.given));
            println!(
                "  {:?} {} / {} | {} ; weak {:?}",
                played.summary.went_well,
                played.summary.right,
                played.summary.asked,
                played.summary.next,
                played
                    .summary
                    .weak
                    .iter()
                    .map(|w| w.title.clone())
                    .collect::<Vec<_>>()
            );
        }
    }
}
