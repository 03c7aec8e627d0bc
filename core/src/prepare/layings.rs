//! Which layings come into question, and what is worth saying beside a template.

use super::error::PrepareError;
use super::network::{Marks, Suspected};
use super::registers::Registers;
use super::words::tenth;
use crate::frames::{Flat, Point2, Vector2};
use crate::job::{Job, LayingChoice, MarkId};
use crate::outline::lettering::{Weight, set_text};
use crate::place::Placed;
use crate::template::{
    Budget, DrawnBy, Given, LaySlopes, Laying, LayingError, Shares, Together, budget, candidates,
    land, lay_slopes, moves_together,
};
use crate::units::Length;
use nalgebra::DMatrix;

/// What any laying of a template on one casting is judged from.
#[derive(Debug, Clone)]
pub struct LayBasis {
    /// Points of the outline about its centre.
    pub outline: Vec<Point2<Flat>>,
    /// What a flat sheet leaves at each of them.
    pub flattening: Vec<Vector2<Flat>>,
    /// How each of them moves with the marks the outline is drawn by; empty where it is drawn by none.
    pub drawn_by: Vec<DrawnBy>,
    /// Covariance of the casting's marks and sizes, mm².
    pub casting: DMatrix<f64>,
    /// Covariance of the drawing's marks, the centre and the sizes, mm².
    pub drawing: DMatrix<f64>,
    /// What laying, printing and marking are good for.
    pub shares: Shares,
    /// Radius of the ball that is curved alike, mm, negative on a saddle; nothing on a face that
    /// unrolls.
    pub ball_radius_mm: Option<f64>,
    /// Layings that come into question, the plainest first.
    pub choices: Vec<Laying>,
}

impl LayBasis {
    /// What a laying leaves, with a known offset at each outline point where the template is not
    /// this casting's own.
    ///
    /// # Errors
    /// [`LayingError::NotHeld`].
    pub fn leaves(
        &self,
        placed: &Placed,
        laying: &Laying,
        sharing: &[Vector2<Flat>],
    ) -> Result<(LaySlopes, Budget), LayingError> {
        let slopes = lay_slopes(
            laying,
            &placed.marks,
            &placed.marks_by_casting,
            self.ball_radius_mm,
        )?;
        let sum = budget(&self.given(placed, &slopes, sharing));
        Ok((slopes, sum))
    }

    /// What a laying leaves at each outline point by itself: 95 % of cases lie within it.
    ///
    /// # Errors
    /// [`LayingError::NotHeld`].
    pub(super) fn leaves_at_each(
        &self,
        placed: &Placed,
        laying: &Laying,
    ) -> Result<Vec<Length>, LayingError> {
        let slopes = lay_slopes(
            laying,
            &placed.marks,
            &placed.marks_by_casting,
            self.ball_radius_mm,
        )?;
        let given = self.given(placed, &slopes, &[]);
        let alone = |(k, (at, off))| {
            let (outline, flattening) = (core::slice::from_ref(at), core::slice::from_ref(off));
            let drawn_by = self.drawn_by.get(k).map_or(&[][..], core::slice::from_ref);
            budget(&Given {
                outline,
                flattening,
                drawn_by,
                ..given
            })
            .worst
        };
        let points = self.outline.iter().zip(&self.flattening);
        Ok(points.enumerate().map(alone).collect())
    }

    /// What a laying leaves that moves all points of the outline together
    /// ([`moves_together`]).
    ///
    /// # Errors
    /// [`LayingError::NotHeld`].
    pub(super) fn together(
        &self,
        placed: &Placed,
        laying: &Laying,
    ) -> Result<Together, LayingError> {
        let slopes = lay_slopes(
            laying,
            &placed.marks,
            &placed.marks_by_casting,
            self.ball_radius_mm,
        )?;
        Ok(moves_together(&self.given(placed, &slopes, &[])))
    }

    fn given<'a>(
        &'a self,
        placed: &'a Placed,
        slopes: &'a LaySlopes,
        sharing: &'a [Vector2<Flat>],
    ) -> Given<'a> {
        Given {
            outline: &self.outline,
            rule_by_casting: &placed.by_casting,
            rule_by_drawing: &placed.by_drawing,
            laid: slopes,
            casting: &self.casting,
            drawing: &self.drawing,
            sharing,
            flattening: &self.flattening,
            drawn_by: &self.drawn_by,
            shares: self.shares,
        }
    }
}

/// The laying that leaves least; a plainer one stands unless another is better by more than a
/// hundredth.
pub(super) fn best_laying(
    basis: &LayBasis,
    placed: &Placed,
    name: &str,
) -> Result<(Laying, LaySlopes, Budget), PrepareError> {
    let mut best: Option<(Laying, LaySlopes, Budget)> = None;
    let mut refused = LayingError::NotHeld;
    for laying in &basis.choices {
        match basis.leaves(placed, laying, &[]) {
            Ok((slopes, sum)) => {
                if best
                    .as_ref()
                    .is_none_or(|(_, _, b)| sum.worst.mm() < b.worst.mm() - 0.01)
                {
                    best = Some((laying.clone(), slopes, sum));
                }
            }
            Err(why) => refused = why,
        }
    }
    best.ok_or_else(|| PrepareError::Laying {
        feature: name.to_owned(),
        why: refused,
    })
}

/// Where the drawing's own template would land, laid on the line of its rule: the greatest shift
/// over the outline, and that of its middle.
pub(super) fn drawing_lands(
    line: (usize, usize),
    on_drawing: &[Point2<Flat>],
    placed: &Placed,
    basis: &LayBasis,
    name: &str,
) -> Result<(Vector2<Flat>, Vector2<Flat>), PrepareError> {
    let naive = Laying::FirstThenAlong {
        first: line.0,
        then: line.1,
    };
    let landing = land(&naive, on_drawing, &placed.marks, basis.ball_radius_mm).map_err(|why| {
        PrepareError::Laying {
            feature: name.to_owned(),
            why,
        }
    })?;
    let furthest = basis
        .outline
        .iter()
        .map(|&p| landing.at(p))
        .fold(landing.shift, |far, v| {
            if v.norm_mm() > far.norm_mm() + 1e-9 {
                v
            } else {
                far
            }
        });
    Ok((furthest, landing.shift))
}

/// *within 1.4 only, not the 0.7 asked for*, with the largest part; nothing where it fits.
pub(super) fn too_wide(budget: &Budget, allowed: Length) -> Option<String> {
    (budget.worst.mm() > allowed.mm()).then(|| {
        let largest = budget.terms.first().map_or_else(String::new, |t| {
            format!(
                " The largest part is {} ({}).",
                t.kind.name(),
                tenth(t.size)
            )
        });
        format!(
            "within {} only, not the {} asked for.{largest}",
            tenth(budget.worst),
            tenth(allowed)
        )
    })
}

/// The laying somebody chose, where its marks can be found.
pub(super) fn pinned(
    choice: Option<&LayingChoice>,
    ids: &[MarkId],
    gone: &[bool],
) -> Option<Laying> {
    let at = |m: &MarkId| {
        let k = ids.iter().position(|n| n == m)?;
        (!gone.get(k).copied().unwrap_or(false)).then_some(k)
    };
    match choice? {
        LayingChoice::FirstThenAlong { first, then } => Some(Laying::FirstThenAlong {
            first: at(first)?,
            then: at(then)?,
        }),
        LayingChoice::SplitAlong { first, then } => Some(Laying::SplitAlong {
            first: at(first)?,
            then: at(then)?,
        }),
        LayingChoice::BestFit => Some(Laying::BestFit {
            weights: gone.iter().map(|g| f64::from(u8::from(!*g))).collect(),
        }),
    }
}

/// Layings over crosses that were read; those held by the drawing only carry no template, and
/// those that are gone nobody can lay anything on.
pub(super) fn layings_for(line: (usize, usize), registers: &[usize], gone: &[bool]) -> Vec<Laying> {
    let is_gone = |k: &usize| gone.get(*k).copied().unwrap_or(false);
    let any_gone = gone.iter().any(|g| *g);
    let mut all = candidates(line, gone.len());
    all.retain(|laying| match laying {
        Laying::FirstThenAlong { first, then } | Laying::SplitAlong { first, then } => {
            !is_gone(first) && !is_gone(then)
        }
        Laying::BestFit { .. } | Laying::Stops { .. } => registers.len() > 1,
    });
    if any_gone && let [first, .., then] = registers {
        let (first, then) = (*first, *then);
        all.push(Laying::FirstThenAlong { first, then });
        all.push(Laying::FirstThenAlong {
            first: then,
            then: first,
        });
    }
    for laying in &mut all {
        if let Laying::BestFit { weights } = laying {
            for (k, w) in weights.iter_mut().enumerate() {
                *w = f64::from(u8::from(registers.contains(&k)));
            }
        }
    }
    all
}

fn odd_words(suspect: &Suspected) -> String {
    let by = suspect.off_by;
    format!(
        "{} may be the odd one out, {} mm too {}. {} Read it again",
        suspect.reading,
        tenth(by.abs()),
        if by.mm() > 0.0 { "short" } else { "long" },
        suspect.explained
    )
}

/// Names with letters that a sheet does not have: what it shows instead, and what to do.
pub(super) fn unprintable(names: [Option<&str>; 2]) -> Option<String> {
    let mut lacks: Vec<char> = Vec::new();
    for name in names.into_iter().flatten() {
        let set = set_text(name, Length::from_mm(1.0), Weight::Medium);
        for c in set.missing {
            if !lacks.contains(&c) {
                lacks.push(c);
            }
        }
    }
    let shown: Vec<String> = lacks
        .iter()
        .take(4)
        .map(|c| format!("\u{201c}{c}\u{201d}"))
        .collect();
    let more = if lacks.len() > shown.len() {
        " and others"
    } else {
        ""
    };
    (!lacks.is_empty()).then(|| {
        format!(
            "sheets have no letters for {}{more}: empty boxes stand there instead. Give the job and what it carries names without them",
            shown.join(", ")
        )
    })
}

/// What was not as it should be on this casting, and on the pattern that every piece follows.
pub(super) fn warnings_of(
    job: &Job,
    marks: &Marks,
    odd_on_pattern: Option<&Suspected>,
    registers: &Registers,
) -> Vec<String> {
    let (letters, unread) = (&registers.letters, &registers.unread);
    let mut warnings = Vec::new();
    let not_read: Vec<&str> = letters
        .iter()
        .zip(unread)
        .filter(|(_, u)| **u)
        .map(|(l, _)| l.as_str())
        .collect();
    if !not_read.is_empty() {
        warnings.push(format!(
            "nothing has been read to {} on this piece: the drawing stands in for it",
            not_read.join(", ")
        ));
    }
    warnings.extend(marks.suspects.first().map(odd_words));
    warnings.extend(odd_on_pattern.map(|odd| {
        format!(
            "on the pattern, which every piece follows: {}",
            odd_words(odd)
        )
    }));
    for disagreement in &job.disagreements {
        if marks.facts.contains(&disagreement.reading) {
            warnings.push("one reading was corrected to two different values: choose one".into());
        }
    }
    warnings.extend(marks.notes.iter().cloned());
    if marks.adjusted.spare == 0 || marks.adjusted.readings.iter().all(|r| r.redundancy < 1e-6) {
        let third = if letters.len() <= 2 {
            "one more, to a third mark, would show a slip"
        } else {
            "one more would show a slip"
        };
        warnings.push(format!("nothing checks these readings; {third}"));
    }
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_a_sheet_cannot_set_are_said() {
        assert_eq!(
            unprintable([Some("Fünf Möwen – ½\u{201d}"), Some("Łódź")]),
            None
        );
        let said = unprintable([Some("مرسى"), Some("Auge")]).unwrap_or_default();
        assert!(
            said.contains("\u{201c}م\u{201d}") && said.contains("names without them"),
            "{said}"
        );
        assert!(!said.contains("others"), "{said}");
        let many = unprintable([Some("Причал Wharf"), None]).unwrap_or_default();
        assert!(many.contains("and others"), "{many}");
    }
}
