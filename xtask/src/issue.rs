//! `cargo xtask issue JOB OUT/ --date D`: every sheet of a job, without a browser.

use std::path::{Path, PathBuf};

use samespot_core::answer::{Desk, Refusal};

use crate::files::Tree;
use crate::{Outcome, files};

const USAGE: &str = "usage: cargo xtask issue JOB OUT/ --date YYYY-MM-DD";

#[derive(Debug, PartialEq, Eq)]
struct Options {
    job: PathBuf,
    out: PathBuf,
    /// Printed on the sheets. Given, not read off a clock, so that a reprint is the same bytes.
    date: Date,
}

/// A calendar date as ISO 8601 writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    fn parse(text: &str) -> Outcome<Self> {
        let wrong = || format!("`{text}` is not a date; write it as in --date 2026-11-25");
        let parts: Vec<&str> = text.split('-').collect();
        let &[year, month, day] = parts.as_slice() else {
            return Err(wrong());
        };
        let shaped = [(year, 4), (month, 2), (day, 2)]
            .iter()
            .all(|(part, digits)| {
                part.len() == *digits && part.bytes().all(|b| b.is_ascii_digit())
            });
        if !shaped {
            return Err(wrong());
        }
        let date = Self {
            year: year.parse().map_err(|_| wrong())?,
            month: month.parse().map_err(|_| wrong())?,
            day: day.parse().map_err(|_| wrong())?,
        };
        if date.day >= 1 && date.day <= date.days_in_month() {
            Ok(date)
        } else {
            Err(format!("there is no {text} in the calendar"))
        }
    }

    /// Of the Gregorian calendar; no days in a month that is none.
    fn days_in_month(self) -> u8 {
        let year = self.year;
        let leap =
            year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        match self.month {
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            _ => 0,
        }
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

fn parse(words: &[&str]) -> Outcome<Options> {
    let mut places = Vec::new();
    let mut date = None;
    let mut words = words.iter();
    while let Some(&word) = words.next() {
        match word {
            "--date" => {
                let text = words
                    .next()
                    .ok_or("--date needs a date, as in --date 2026-11-25")?;
                date = Some(Date::parse(text)?);
            }
            option if option.starts_with('-') => {
                return Err(format!("`{option}` is not known here; {USAGE}"));
            }
            place => places.push(PathBuf::from(place)),
        }
    }
    let date = date.ok_or_else(|| format!("which date goes on the sheets? {USAGE}"))?;
    match <[PathBuf; 2]>::try_from(places) {
        Ok([job, out]) => Ok(Options { job, out, date }),
        Err(places) => Err(format!(
            "{} file names where two belong; {USAGE}",
            places.len()
        )),
    }
}

/// The sheets of a job by file name, and what the person has to be told.
struct Issued {
    files: Tree,
    warnings: Vec<String>,
}

pub(crate) fn run(words: &[&str]) -> Outcome {
    let options = parse(words)?;
    let job = files::read(&options.job)?;
    let issued = issue(&job, options.date)
        .map_err(|sentence| format!("{}: {sentence}", options.job.display()))?;
    write(&options.out, &issued.files)?;
    for warning in &issued.warnings {
        println!("{warning}");
    }
    println!("{} files in {}", issued.files.len(), options.out.display());
    Ok(())
}

/// Writes beside what is there already: OUT may hold other issues of the same job.
fn write(out: &Path, files: &Tree) -> Outcome {
    for (path, bytes) in files {
        files::write(&out.join(path), bytes)?;
    }
    Ok(())
}

fn issue(job: &[u8], date: Date) -> Outcome<Issued> {
    let opened = samespot_core::read::job::open(job).map_err(|why| why.to_string())?;
    let mut warnings: Vec<String> = opened.notes.iter().map(ToString::to_string).collect();
    let mut desk = Desk::default();
    let id = desk.take(opened);
    let (made, left_out) =
        desk.run(&id, None, &date.to_string())
            .map_err(|refusal| match refusal {
                Refusal::CannotDo { sentence } => sentence,
                Refusal::UnknownJob => "the job was not taken in".to_owned(),
            })?;
    warnings.extend(left_out);
    let files = made.into_iter().collect();
    Ok(Issued { files, warnings })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;

    #[test]
    fn reads_its_words() {
        let options = parse(&["a.job", "--date", "2026-11-25", "out/"]).unwrap();
        assert_eq!(options.job, Path::new("a.job"));
        assert_eq!(options.out, Path::new("out/"));
        assert_eq!(options.date.to_string(), "2026-11-25");
    }

    #[track_caller]
    fn refused(words: &[&str], why: &str) {
        let fault = parse(words).unwrap_err();
        assert!(fault.contains(why), "{words:?}: {fault}");
    }

    #[test]
    fn says_what_is_wrong() {
        refused(&["a", "out"], "which date");
        refused(&["a", "--date", "2026-11-25"], "1 file names");
        refused(
            &["a", "out", "more", "--date", "2026-11-25"],
            "3 file names",
        );
        refused(&["a", "out", "--date"], "needs a date");
        refused(&["a", "out", "--fast"], "not known");
        for text in ["25.11.2026", "2026-11", "2026-1-5", "+026-11-25", ""] {
            refused(&["a", "out", "--date", text], "is not a date");
        }
        // Gregorian rule: 2000 was a leap year, 1900 was not.
        for text in [
            "2026-02-29",
            "1900-02-29",
            "2026-13-01",
            "2026-04-31",
            "2026-01-00",
        ] {
            refused(&["a", "out", "--date", text], "in the calendar");
        }
        assert!(parse(&["a", "out", "--date", "2000-02-29"]).is_ok());
    }
}
