//! What to read next and what it brings; what the readings prove; what nothing checks.

use super::super::Source;
use super::super::instruments::{Takes, kind_of};
use super::super::network::Marks;
use super::super::tapes::{noise, tape_of};
use super::super::words::{mm, tenth};
use super::asks::{gone, instrument, marks_in, with_words};
use super::face::{OnFace, face_name};
use super::goal::{Goal, Placing};
use super::list::{MOST_A_FACE, Pair, pairs};
use super::odd::short;
use super::order::same;
use super::view::{AskedReading, Proof};
use crate::job::{CastingId, InstrumentId, Job, Measured, MeasuringSays};
use crate::readings::{Adjusted, Precision, Reading, ReadingKind, Tape};
use crate::units::Length;

/// The least that one more reading must bring to be worth a walk: a tenth of a millimetre, as
/// errors are said.
const WORTH: Length = Length::from_mm(0.1);

/// How many further readings are named at once (design/03 §1).
const MOST_NAMED: usize = 3;

/// A distance that could be read on a face.
struct Candidate {
    of: Measured,
    pair: Pair,
    about: Length,
}

/// A face with its features and what could be read on it.
pub(super) struct Advised<'a> {
    job: &'a Job,
    on: &'a OnFace,
    marks: &'a Marks,
    goals: Vec<Goal>,
    candidates: Vec<Candidate>,
}

impl<'a> Advised<'a> {
    /// `None` where the readings can't be worked with, or nothing is on the face.
    pub(super) fn of(
        source: &Source<'a>,
        casting: &CastingId,
        on: &'a OnFace,
        open: &dyn Fn(&Measured) -> bool,
    ) -> Option<Self> {
        let marks = on.read.as_ref().ok()?;
        let candidates = pairs(on.marks.len())
            .into_iter()
            .filter_map(|pair| {
                let of = on.ask(pair).filter(open)?;
                let about = on.expected(source.job, &of, Length::ZERO)?.middle;
                Some(Candidate { of, pair, about })
            })
            .collect();
        Some(Self {
            job: source.job,
            on,
            marks,
            goals: Goal::all(source, casting, on),
            candidates,
        })
    }

    /// The candidate as a reading of the network, with the instrument it would be read with.
    fn reading(&self, candidate: &Candidate) -> Reading {
        let id = instrument(self.job, &candidate.of, candidate.about);
        let tape = id
            .as_ref()
            .and_then(|id| self.marks.tapes.iter().position(|t| t.as_ref() == Some(id)));
        let precision = match tape {
            Some(tape) => Precision::Tape {
                tape,
                hooked: false,
            },
            None => Precision::Sd(noise(self.job, id.as_ref(), candidate.about)),
        };
        self.planned(candidate, precision)
    }

    fn planned(&self, candidate: &Candidate, precision: Precision) -> Reading {
        let Pair { from, to } = candidate.pair;
        let kind = if self.on.over {
            ReadingKind::Over { from, to, turns: 0 }
        } else {
            ReadingKind::Straight { from, to }
        };
        Reading {
            kind,
            value: Length::ZERO,
            precision,
        }
    }

    /// The feature that uses up most of what is asked of it, and how much.
    pub(super) fn worst(&self) -> Option<(f64, &Goal)> {
        let share = |g: &Goal| g.share(g.placing(&g.seen(&self.marks.adjusted)));
        let shares = self.goals.iter().map(|g| (share(g), g));
        shares.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// How many readings of the face count.
    pub(super) fn taken(&self) -> usize {
        self.marks.facts.len()
    }

    /// Candidates with what a goal would come to, the best first.
    fn best_for(&self, goal: &Goal, adjusted: &Adjusted) -> Vec<(&Candidate, Placing)> {
        let seen = goal.seen(adjusted);
        let before = goal.placing(&seen);
        let mut list: Vec<_> = self
            .candidates
            .iter()
            .filter_map(|c| {
                let gain = seen.gain(&self.reading(c))?;
                let after = goal.after(before, &gain);
                Some((c, after, goal.within(after)))
            })
            .collect();
        list.sort_by(|a, b| a.2.mm().total_cmp(&b.2.mm()));
        list.into_iter().map(|(c, after, _)| (c, after)).collect()
    }

    /// *One more, A to D: the eye from ±1.9 to ±1.3 mm*; at most three, the best first.
    pub(super) fn next_best(&self) -> Vec<String> {
        let Some((_, goal)) = self.worst() else {
            return Vec::new();
        };
        let now = goal.within(goal.placing(&goal.seen(&self.marks.adjusted)));
        self.best_for(goal, &self.marks.adjusted)
            .into_iter()
            .map(|(c, after)| (c, goal.within(after)))
            .filter(|(_, then)| now.mm() - then.mm() >= WORTH.mm())
            .take(MOST_NAMED)
            .map(|(c, then)| {
                let again = if self.is_read(&c.of) { "again" } else { "" };
                format!(
                    "One more, {}{}{again}: {} from ±{} to ±{} mm",
                    short(self.job, &c.of).replace('–', " to "),
                    if again.is_empty() { "" } else { " " },
                    goal.title,
                    tenth(now),
                    tenth(then)
                )
            })
            .collect()
    }

    fn is_read(&self, of: &Measured) -> bool {
        self.marks.facts.iter().any(|f| {
            let read = self.job.readings.named(*f);
            read.is_some_and(|r| same(&r.says.of, of))
        })
    }

    /// The few further readings that bring the worst feature inside what is asked, or that none
    /// do within the most readings a face is asked for.
    pub(super) fn shortest(&self) -> Option<String> {
        let (share, goal) = self.worst()?;
        if share <= 1.0 {
            return None;
        }
        if hangs_on_pattern(goal) {
            return Some(format!(
                "Nothing read here proves {} within {} mm: the readings of the pattern leave {}. Read it on the pattern again, or to one more mark",
                goal.title,
                mm(goal.asked),
                tenth(up(goal.worked(Placing::sure())))
            ));
        }
        let options = &self.marks.options;
        let mut adjusted = self.marks.adjusted.clone();
        let mut list: Vec<&Candidate> = Vec::new();
        let mut reached = goal.placing(&goal.seen(&adjusted));
        while self.taken() + list.len() < MOST_A_FACE && goal.share(reached) > 1.0 {
            let (best, _) = *self.best_for(goal, &adjusted).first()?;
            adjusted = adjusted.planned(false, &[self.reading(best)], &[], options)?;
            reached = goal.placing(&goal.seen(&adjusted));
            list.push(best);
        }
        // What an earlier one brought, a later one may bring as well.
        let mut k = 0;
        while list.len() > 1 && k < list.len() {
            let fewer: Vec<Reading> = list
                .iter()
                .enumerate()
                .filter(|(i, _)| *i != k)
                .map(|(_, c)| self.reading(c))
                .collect();
            let proved = self
                .marks
                .adjusted
                .planned(false, &fewer, &[], options)
                .is_some_and(|a| goal.share(goal.placing(&goal.seen(&a))) <= 1.0);
            if proved {
                list.remove(k);
            } else {
                k += 1;
            }
        }
        let names: Vec<String> = list.iter().map(|c| short(self.job, &c.of)).collect();
        let asked = mm(goal.asked);
        Some(if goal.share(reached) <= 1.0 {
            format!(
                "The shortest list that proves {} within {asked} mm: {}",
                goal.title,
                names.join(", ")
            )
        } else {
            format!(
                "{MOST_A_FACE} readings of {} can't prove {} within {asked} mm, only within {}: see what can below",
                face_name(self.job, &self.on.id),
                goal.title,
                tenth(up(goal.worked(reached)))
            )
        })
    }

    /// That a reading in hand would bring nothing and check nothing new.
    pub(super) fn adds_nothing(&self, of: &Measured) -> Option<String> {
        let adjusted = &self.marks.adjusted;
        let all_checked = self.taken() > 0 && (0..self.taken()).all(|k| adjusted.is_checked(k));
        let candidate = self.candidates.iter().find(|c| same(&c.of, of))?;
        if !all_checked || self.goals.is_empty() {
            return None;
        }
        let reading = self.reading(candidate);
        let little = self.goals.iter().all(|g| {
            let seen = g.seen(adjusted);
            let before = g.placing(&seen);
            seen.gain(&reading).is_some_and(|gain| {
                g.within(before).mm() - g.within(g.after(before, &gain)).mm() < WORTH.mm() / 2.0
            })
        });
        little.then(|| {
            format!(
                "{} adds nothing: no feature gains a tenth of a millimetre by it, and the readings there are already check one another",
                short(self.job, of)
            )
        })
    }

    /// Which readings nothing else would catch in a slip; once the face's list is read.
    pub(super) fn unchecked(&self) -> Option<String> {
        let adjusted = &self.marks.adjusted;
        let loose: Vec<usize> = (0..self.taken())
            .filter(|k| !adjusted.is_checked(*k))
            .collect();
        if loose.is_empty() {
            return None;
        }
        let face = face_name(self.job, &self.on.id);
        if loose.len() == self.taken() && adjusted.spare == 0 {
            let would = if self.on.marks.len() <= 2 {
                "to a third mark, would".to_owned()
            } else {
                match self.checks_most() {
                    Some(c) => format!("{}, would", short(self.job, &c.of).replace('–', " to ")),
                    None => "to another mark, would".to_owned(),
                }
            };
            return Some(format!(
                "{face}: nothing checks these readings; one more, {would} show a slip"
            ));
        }
        // Seen but shared with another, or hardly seen at all.
        let (shared, unseen): (Vec<usize>, Vec<usize>) = loose
            .into_iter()
            .partition(|k| !adjusted.same_culprits(*k).is_empty());
        let with = self.checks_most().map_or_else(String::new, |c| {
            format!(
                "; one more, {}, would help most",
                short(self.job, &c.of).replace('–', " to ")
            )
        });
        Some(match (self.listed(&unseen), self.listed(&shared)) {
            (Some(unseen), _) => {
                format!("{face}: nothing checks {unseen} well enough to tell a slip{with}")
            }
            (None, Some(shared)) => format!(
                "{face}: a slip in {shared} would show, but not in which reading it is{with}"
            ),
            (None, None) => return None,
        })
    }

    /// *A–B, A–C and B–C*, each once.
    fn listed(&self, readings: &[usize]) -> Option<String> {
        let mut names: Vec<String> = Vec::new();
        for k in readings {
            let fact = self.marks.facts.get(*k)?;
            let read = self.job.readings.named(*fact)?;
            let name = short(self.job, &read.says.of);
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let last = names.pop()?;
        Some(if names.is_empty() {
            last
        } else {
            format!("{} and {last}", names.join(", "))
        })
    }

    /// The distance after which most readings are checked.
    fn checks_most(&self) -> Option<&Candidate> {
        let options = &self.marks.options;
        let checked = |c: &Candidate| {
            let then = self
                .marks
                .adjusted
                .planned(false, &[self.reading(c)], &[], options)?;
            let count = (0..self.taken()).filter(|k| then.is_checked(*k)).count();
            let sum: f64 = then
                .readings
                .iter()
                .take(self.taken())
                .map(|r| r.redundancy)
                .sum();
            Some((count, sum))
        };
        let mut best: Option<((usize, f64), &Candidate)> = None;
        for c in &self.candidates {
            if let Some(found) = checked(c)
                && best
                    .as_ref()
                    .is_none_or(|(b, _)| found.0 > b.0 || (found.0 == b.0 && found.1 > b.1 + 1e-9))
            {
                best = Some((found, c));
            }
        }
        best.map(|b| b.1)
    }

    /// Whether each instrument that could be used here proves each feature, by these distances
    /// read once; where none does, what would.
    pub(super) fn proofs(&self, asks: &[&AskedReading]) -> Vec<Proof> {
        let mut distances: Vec<&Candidate> = Vec::new();
        for ask in asks {
            if let Some(c) = self.candidates.iter().find(|c| same(&c.of, &ask.of))
                && !distances.iter().any(|d| d.pair == c.pair)
            {
                distances.push(c);
            }
        }
        let tools = tools(self.job, self.on.over);
        let worked = |goal: &Goal, tape: Tape, times: usize| {
            let readings: Vec<Reading> = (0..times)
                .flat_map(|_| &distances)
                .map(|c| {
                    let precision = Precision::Tape {
                        tape: self.marks.adjusted.tapes.len(),
                        hooked: false,
                    };
                    self.planned(c, precision)
                })
                .collect();
            let planned =
                self.marks
                    .adjusted
                    .planned(true, &readings, &[tape], &self.marks.options)?;
            Some(up(goal.worked(goal.placing(&goal.seen(&planned)))))
        };
        let mut out = Vec::new();
        for goal in &self.goals {
            let mut by: Vec<(String, Length)> = tools
                .iter()
                .filter_map(|(id, tape)| {
                    let name = with_words(self.job, Some(id), &distances.first()?.of);
                    Some((name, worked(goal, *tape, 1)?))
                })
                .collect();
            by.sort_by(|a, b| a.1.mm().total_cmp(&b.1.mm()));
            let can = by.iter().any(|(_, w)| *w <= goal.asked);
            let instead = (!can)
                .then(|| {
                    let (_, best) = tools.iter().min_by(|a, b| {
                        a.1.each
                            .variance_mm2(2)
                            .total_cmp(&b.1.each.variance_mm2(2))
                    })?;
                    Some(self.instead(goal, *best, &worked))
                })
                .flatten();
            out.push(Proof {
                feature: goal.title.clone(),
                asked: goal.asked,
                by,
                instead,
            });
        }
        out
    }

    /// The method that proves a goal where no tape does, in the order of what it costs.
    fn instead(
        &self,
        goal: &Goal,
        best: Tape,
        worked: &dyn Fn(&Goal, Tape, usize) -> Option<Length>,
    ) -> String {
        if hangs_on_pattern(goal) {
            let leaves = tenth(up(goal.worked(Placing::sure())));
            return format!(
                "no reading of this casting proves it: those of the pattern leave ±{leaves} mm. Read it on the pattern again, or to one more mark"
            );
        }
        let rod = Tape {
            scale: crate::readings::ScaleError::Comparison,
            ..Tape::steel_rule()
        };
        for (words, tape, times) in [
            ("each distance read twice with the surest of them", best, 2),
            (
                "a rod cut on the pattern and held beside each distance, the difference read with a steel rule",
                rod,
                1,
            ),
            ("that rod, each difference read twice", rod, 2),
        ] {
            if let Some(within) = worked(goal, tape, times).filter(|w| *w <= goal.asked) {
                return format!("{words} proves it: ±{} mm", tenth(within));
            }
        }
        "no way of measuring marks proves it: lay the template back on its crosses and measure the gap, or ask for less".into()
    }
}

/// No reading of a casting brings it inside what is asked, because those of the pattern leave too much: with
/// them sure as well, laying and marking would keep it.
fn hangs_on_pattern(goal: &Goal) -> bool {
    let sure = Placing::sure();
    up(goal.worked(sure)) > goal.asked && goal.laid(sure) <= goal.asked
}

/// To the tenth of a millimetre above, so that what is said is never less than what it is.
fn up(length: Length) -> Length {
    Length::from_mm(libm::ceil(length.mm() * 10.0 - 1e-9) / 10.0)
}

/// The advice for a walk, the most useful first; and whether each feature can be proved.
pub(super) fn advised(
    source: &Source<'_>,
    casting: &CastingId,
    faces: &[OnFace],
    asks: &[AskedReading],
    stage: Option<&str>,
) -> (Vec<String>, Vec<Proof>) {
    let job = source.job;
    let out_of_reach = |of: &Measured| {
        let mut said = job.measuring.about(casting);
        said.any(|m| matches!(&m.says.says, MeasuringSays::CannotReach { of: u } if same(u, of)))
    };
    let open = |of: &Measured| {
        !out_of_reach(of) && marks_in(of).iter().all(|m| gone(job, m, stage).is_none())
    };
    let all: Vec<Advised<'_>> = faces
        .iter()
        .filter_map(|on| Advised::of(source, casting, on, &open))
        .collect();
    let of_face = |a: &Advised<'_>| -> Vec<&AskedReading> {
        asks.iter().filter(|ask| ask.face == a.on.id).collect()
    };
    let next = asks.iter().find(|a| a.state.is_to_read());
    let mut says = Vec::new();
    for advised in &all {
        let mine = of_face(advised);
        let done = mine.iter().all(|a| !a.state.is_to_read());
        if let Some(ask) = next.filter(|ask| ask.face == advised.on.id) {
            says.extend(advised.adds_nothing(&ask.of));
        }
        if done && advised.taken() > 0 {
            says.extend(advised.unchecked());
        }
    }
    let worst = all
        .iter()
        .filter_map(|a| Some((a.worst()?.0, a)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, advised)) = worst {
        says.extend(advised.shortest());
        says.extend(advised.next_best());
    }
    let proofs = all.iter().flat_map(|a| a.proofs(&of_face(a))).collect();
    (says, proofs)
}

/// Instruments of the job that can be laid over a face, or span it straight.
fn tools(job: &Job, over: bool) -> Vec<(InstrumentId, Tape)> {
    job.instruments
        .iter()
        .filter(|(_, i)| {
            let wanted = if over { Takes::Over } else { Takes::Straight };
            kind_of(i).is_some_and(|k| k.takes.contains(&wanted))
        })
        .filter_map(|(id, i)| Some((id.clone(), tape_of(i)?)))
        .collect()
}
