//! The check of the file: the store's own, and what must always be true of our rows.

use super::error::{LogbookError, told};
use super::store::Logbook;

/// Something wrong with the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What must be true.
    pub rule: &'static str,
    /// Where it is not.
    pub what: String,
}

/// A rule, and a query for what breaks it: one text a row.
const RULES: [(&str, &str); 10] = [
    (
        "the file is sound",
        "SELECT integrity_check FROM pragma_integrity_check WHERE integrity_check <> 'ok'",
    ),
    (
        "every answer belongs to a session, and what was performed to a show",
        "SELECT 'row ' || rowid || ' of ' || \"table\" FROM pragma_foreign_key_check",
    ),
    (
        "the answers of a session are numbered from 1 without a gap",
        "SELECT 'session ' || session FROM answers GROUP BY session
         HAVING min(ordinal) <> 1 OR max(ordinal) <> count(*)",
    ),
    (
        "the first key comes before the end of an answer",
        "SELECT 'session ' || session || ', answer ' || ordinal FROM answers WHERE first_key_ms > total_ms",
    ),
    (
        "lists are lists of words",
        "SELECT 'session ' || id FROM sessions WHERE json_type(drills) <> 'array'
             OR EXISTS (SELECT 1 FROM json_each(drills) WHERE type <> 'text')
         UNION ALL SELECT 'session ' || session || ', answer ' || ordinal FROM answers WHERE json_type(choices) <> 'array'
             OR EXISTS (SELECT 1 FROM json_each(choices) WHERE type <> 'text')
         UNION ALL SELECT 'practice ' || id FROM practices WHERE json_type(stumbled) <> 'array'
             OR EXISTS (SELECT 1 FROM json_each(stumbled) WHERE type <> 'text')
         UNION ALL SELECT 'show ' || show || ', routine ' || ordinal FROM performances
             WHERE json_type(choices) <> 'array' OR EXISTS (SELECT 1 FROM json_each(choices) WHERE type <> 'text')
             OR json_type(steps) <> 'array' OR EXISTS (SELECT 1 FROM json_each(steps) WHERE type <> 'text')",
    ),
    (
        "what happened on stage has a step and words",
        "SELECT 'show ' || show || ', routine ' || ordinal FROM performances
         WHERE json_type(strays) <> 'array' OR json_type(slips) <> 'array'
             OR EXISTS (SELECT 1 FROM json_each(strays) WHERE json_type(value, '$.step') IS NOT 'text'
                            OR json_type(value, '$.what') IS NOT 'text')
             OR EXISTS (SELECT 1 FROM json_each(slips) WHERE json_type(value, '$.step') IS NOT 'text'
                            OR json_type(value, '$.what') IS NOT 'text')",
    ),
    (
        "the routines of a show are numbered from 1 without a gap",
        "SELECT 'show ' || show FROM performances GROUP BY show HAVING min(ordinal) <> 1 OR max(ordinal) <> count(*)",
    ),
    (
        "seeds are whole numbers",
        "SELECT 'session ' || id FROM sessions WHERE seed GLOB '*[^0-9]*' OR seed = '' OR setup GLOB '*[^0-9]*' OR setup = ''
         UNION ALL SELECT 'session ' || session || ', answer ' || ordinal FROM answers WHERE seed GLOB '*[^0-9]*' OR seed = ''",
    ),
    (
        "how the steps stand agrees with the answers",
        "WITH counted AS (
             SELECT routine, step, sum(answered) AS answered, sum(correct) AS correct, sum(stumbles) AS stumbles,
                    max(recent) AS recent, max(latest_ms) AS latest_ms
             FROM (SELECT routine, step, count(*) AS answered, sum(was_right) AS correct, 0 AS stumbles,
                          substr(group_concat(was_right, '' ORDER BY at_ms DESC, session DESC, ordinal DESC), 1, 8) AS recent,
                          max(at_ms) AS latest_ms
                   FROM answers GROUP BY routine, step
                   UNION ALL
                   SELECT practices.routine, value, 0, 0, count(*), '', NULL
                   FROM practices, json_each(practices.stumbled) GROUP BY practices.routine, value)
             GROUP BY routine, step)
         SELECT 'step ' || step || ' of ' || routine
         FROM (SELECT * FROM (SELECT routine, step, answered, correct, stumbles, recent, latest_ms FROM counted
                              EXCEPT SELECT routine, step, answered, correct, stumbles, recent, latest_ms FROM step_standing)
               UNION ALL
               SELECT * FROM (SELECT routine, step, answered, correct, stumbles, recent, latest_ms FROM step_standing
                              EXCEPT SELECT routine, step, answered, correct, stumbles, recent, latest_ms FROM counted))",
    ),
    (
        "how the routines stand agrees with the answers",
        "WITH counted AS (
             SELECT routine, sum(answered) AS answered, sum(correct) AS correct, sum(practices) AS practices,
                    max(at_ms) AS latest_ms
             FROM (SELECT routine, 1 AS answered, was_right AS correct, 0 AS practices, at_ms FROM answers
                   UNION ALL SELECT routine, 0, 0, 1, at_ms FROM practices)
             GROUP BY routine)
         SELECT 'routine ' || routine
         FROM (SELECT * FROM (SELECT routine, answered, correct, practices, latest_ms FROM counted
                              EXCEPT SELECT routine, answered, correct, practices, latest_ms FROM routine_standing)
               UNION ALL
               SELECT * FROM (SELECT routine, answered, correct, practices, latest_ms FROM routine_standing
                              EXCEPT SELECT routine, answered, correct, practices, latest_ms FROM counted))",
    ),
];

impl Logbook {
    /// Checks the file, and lists what is wrong with it; nothing when all is well.
    ///
    /// # Errors
    /// When the file could not be read at all.
    pub fn check(&self) -> Result<Vec<Finding>, LogbookError> {
        let mut findings = Vec::new();
        for (rule, sql) in RULES {
            let broken: rusqlite::Result<Vec<String>> = self
                .store
                .prepare(sql)
                .and_then(|mut select| select.query_map([], |row| row.get(0))?.collect());
            match broken {
                Ok(broken) => {
                    findings.extend(broken.into_iter().map(|what| Finding { rule, what }));
                }
                // A damaged page may stop a query half way: that is a finding too.
                Err(source) => match told(&self.path, "the check could not be made", source) {
                    LogbookError::Damaged { source, .. } => findings.push(Finding {
                        rule,
                        what: source.to_string(),
                    }),
                    other => return Err(other),
                },
            }
        }
        Ok(findings)
    }
}
