//! The fewest templates of one feature for a whole run, and the sheets of one that several share.

mod curve;
mod sets;

use crate::frames::{Flat, Point2, Vector2};
use crate::job::{PieceId, Printed, SheetOf};
use crate::prepare::Source;
use crate::prepare::crosses::cross_miss;
use crate::prepare::error::PrepareError;
use crate::prepare::feature::{Prepared, prepare_sheet};
use crate::prepare::hatch::of_several;
use crate::prepare::likeness::{Likeness, is_cross, likeness};
use crate::prepare::patches::patch_sheets;
use crate::prepare::proving;
use crate::prepare::rack::check_distances;
use crate::prepare::sheets::{inputs_of_all, template_sheet};
use crate::prepare::shell::{Rest, is_shell, rest};
use crate::prepare::words::{CUT_OUT, kind_of, laying_words, stand_words, tenth};
use crate::sheet::{Drawing, Paper, TemplateSheet, compose_together};
use crate::template::{
    Budget, CROSS_OFF, Fewest, LaidPart, LaySlopes, Laying, Sharer, apart, best_place, land,
    middle, seen_after,
};
use crate::units::Length;
use curve::curve;
use sets::TriedSets;

/// An exact error may pass the one the choice was made with by this before the choice is made again, mm.
const SECOND_ORDER_MM: f64 = 0.001;

/// A cross on a template that several pieces share.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedCross {
    /// Its place among the marks of each piece.
    mark: usize,
    /// Its letter.
    pub letter: String,
    /// Where it stands about the feature.
    pub at: Point2<Flat>,
    /// Furthest it may be from its mark on any of the pieces, 95 of 100 times.
    pub within: Length,
}

/// One template and the pieces it serves.
#[derive(Debug, Clone)]
pub struct SharedTemplate {
    /// The pieces in the order of their numbers, each with what is left on it.
    pub serves: Vec<(PieceId, Budget)>,
    /// How it is laid.
    pub laying: Laying,
    /// The first line of its sheet.
    pub laying_words: String,
    /// Its crosses.
    pub crosses: Vec<SharedCross>,
    /// The first of its pieces, for what is the same on all.
    first: Prepared,
    /// Furthest the drawing's own stencil would land off on any of them.
    pub nominal_lands: Length,
    warnings: Vec<(String, Vec<PieceId>)>,
    /// Off which casting it is pulled, and how it rests on the others, where it is a shell.
    pub rest: Option<Rest>,
    /// Where it is a set of patches: pieces that would be divided otherwise by themselves.
    pub otherwise: Vec<PieceId>,
}

/// How many templates it takes from a tolerance on, until the next point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// The radius asked for.
    pub tolerance: Length,
    /// Templates.
    pub templates: usize,
    /// Pieces that not even a template of their own brings within it.
    pub beyond: usize,
}

/// The fewest templates of one feature.
#[derive(Debug, Clone)]
pub struct FewestTemplates {
    /// Each with its pieces, the one of the lowest number first.
    pub templates: Vec<SharedTemplate>,
    /// No fewer are possible.
    pub at_least: usize,
    /// The radius asked for.
    pub allowed: Length,
    /// The number of templates against the tolerance.
    pub curve: Vec<CurvePoint>,
    /// Pieces no template can be made for yet, each with the reason.
    pub without: Vec<(PieceId, PrepareError)>,
}

/// One way of laying a class of pieces.
struct Trial {
    laying: Laying,
    sharers: Vec<Sharer>,
    alone: Vec<Length>,
    part: LaidPart,
}

fn mean(points: impl Iterator<Item = Point2<Flat>>) -> Point2<Flat> {
    let (sum, count) = points.fold((Vector2::ZERO, 0.0), |(s, n), p| {
        (s + p.from_origin(), n + 1.0)
    });
    let part = 1.0 / f64::max(count, 1.0);
    Point2::from_mm(sum.x_mm() * part, sum.y_mm() * part)
}

/// Every laying tried on a class; those that don't hold on one of its pieces are left out.
fn trials(class: &[&Prepared]) -> Vec<Trial> {
    let Some(first) = class.first() else {
        return Vec::new();
    };
    let common: Vec<Point2<Flat>> = (0..first.crosses.len())
        .map(|k| mean(class.iter().filter_map(|p| p.placed.marks.get(k).copied())))
        .collect();
    first
        .basis
        .choices
        .iter()
        .filter_map(|laying| {
            let (mut sharers, mut alone) = (Vec::new(), Vec::new());
            for p in class {
                let radius = p.basis.ball_radius_mm;
                let landing = land(laying, &common, &p.placed.marks, radius).ok()?;
                let (_, own) = p.basis.leaves(&p.placed, laying, &[]).ok()?;
                let seen = seen_after(&p.placed.marks, &landing, radius);
                sharers.push(Sharer {
                    landing,
                    left: p.allowed - own.worst,
                    seen: seen
                        .into_iter()
                        .enumerate()
                        .filter(|(k, _)| is_cross(p, *k))
                        .map(|(_, s)| s)
                        .collect(),
                });
                alone.push(own.worst);
            }
            Some(Trial {
                laying: laying.clone(),
                part: LaidPart::new(&first.basis.outline, sharers.clone()),
                sharers,
                alone,
            })
        })
        .collect()
}

impl Trial {
    /// The same where a template may be off by so much.
    fn within(&self, tolerance: Length) -> LaidPart {
        let mut part = self.part.clone();
        part.leave(self.alone.iter().map(|alone| tolerance - *alone));
        part
    }

    fn worst(&self, outline: &[Point2<Flat>], found: &Fewest) -> f64 {
        let mut worst = 0.0;
        for group in &found.groups {
            for &k in &group.members {
                let off = apart(outline, &self.sharers[k].landing, &group.at);
                worst = f64::max(worst, off.mm() + self.alone[k].mm());
            }
        }
        worst
    }
}

/// A laying with the pieces of each template, and how many templates there must be at least.
struct Grouped<'a> {
    trial: &'a Trial,
    part: LaidPart,
    groups: Vec<Vec<usize>>,
    at_least: usize,
}

/// Every laying with the fewest templates, the plainest first; none where all take more than `most`.
fn with_fewest(trials: &[Trial], tolerance: Length, mut most: usize) -> Vec<Grouped<'_>> {
    let mut best: Vec<Grouped<'_>> = Vec::new();
    for trial in trials {
        let part = trial.within(tolerance);
        let Some((groups, at_least)) = part.groups(CROSS_OFF, most) else {
            continue;
        };
        if groups.len() < most {
            best.clear();
        }
        most = groups.len();
        best.push(Grouped {
            trial,
            part,
            groups,
            at_least,
        });
    }
    best
}

/// Of layings with as many templates, the one that leaves least, the plainest on a tie.
fn leaving_least<'a>(
    alike: Vec<Grouped<'a>>,
    outline: &[Point2<Flat>],
) -> Option<(&'a Trial, Fewest)> {
    let single = alike.len() == 1;
    let mut best: Option<(&Trial, Fewest, f64)> = None;
    for one in alike {
        let found = Fewest {
            groups: one.part.drawn(one.groups),
            at_least: one.at_least,
        };
        let worst = if single {
            0.0
        } else {
            one.trial.worst(outline, &found)
        };
        if best.as_ref().is_none_or(|(_, _, w)| worst < w - 0.01) {
            best = Some((one.trial, found, worst));
        }
    }
    best.map(|(t, f, _)| (t, f))
}

/// Sets the crosses of one template and works out exactly what is left on each of its pieces.
fn settled(
    laying: &Laying,
    group: &[&Prepared],
    start: &[&Sharer],
    at: &Sharer,
) -> Option<Settled> {
    let first = group.first()?;
    let outline = &first.basis.outline;
    let seen: Vec<Vec<Point2<Flat>>> = group
        .iter()
        .zip(start)
        .map(|(p, s)| {
            let mut off = s.landing;
            off.shift = off.shift - at.landing.shift;
            off.turn = off.turn - at.landing.turn;
            seen_after(&p.placed.marks, &off, p.basis.ball_radius_mm)
        })
        .collect();
    let mut crosses: Vec<Point2<Flat>> = (0..first.crosses.len())
        .map(|k| {
            let of: Vec<_> = seen.iter().filter_map(|s| s.get(k).copied()).collect();
            middle(&of).0
        })
        .collect();
    let lands = |crosses: &[Point2<Flat>]| {
        group
            .iter()
            .map(|p| land(laying, crosses, &p.placed.marks, p.basis.ball_radius_mm).ok())
            .collect::<Option<Vec<_>>>()
    };
    for _ in 0..4 {
        let list: Vec<Sharer> = lands(&crosses)?
            .into_iter()
            .zip(start)
            .map(|(landing, s)| Sharer {
                landing,
                left: s.left,
                seen: Vec::new(),
            })
            .collect();
        let (mut back, _) = best_place(outline, &list.iter().collect::<Vec<_>>());
        if back.shift.norm_mm() < 1e-4 && back.turn.rad().abs() < 1e-6 {
            break;
        }
        back.shift = Vector2::ZERO - back.shift;
        back.turn = -back.turn;
        crosses = seen_after(&crosses, &back, first.basis.ball_radius_mm);
    }
    let mut left = Vec::new();
    for (p, landing) in group.iter().zip(lands(&crosses)?) {
        let sharing: Vec<_> = outline.iter().map(|&x| landing.at(x)).collect();
        let (slopes, sum) = p.basis.leaves(&p.placed, laying, &sharing).ok()?;
        let there = seen_after(&p.placed.marks, &landing, p.basis.ball_radius_mm);
        left.push((sum, slopes, there));
    }
    Some(Settled { crosses, left })
}

struct Settled {
    crosses: Vec<Point2<Flat>>,
    /// For each piece: what is left, how it moves, where its marks are seen.
    left: Vec<(Budget, LaySlopes, Vec<Point2<Flat>>)>,
}

fn shared(laying: &Laying, group: &[&Prepared], settled: Settled) -> Option<SharedTemplate> {
    let first = (*group.first()?).clone();
    let letters: Vec<String> = first.crosses.iter().map(|c| c.letter.clone()).collect();
    let crosses = settled
        .crosses
        .iter()
        .enumerate()
        .filter(|(k, _)| is_cross(&first, *k))
        .map(|(k, &at)| {
            let within = group
                .iter()
                .zip(&settled.left)
                .map(|(p, (_, slopes, seen))| {
                    let doubt = cross_miss(
                        k,
                        &p.placed,
                        slopes,
                        &p.basis.casting,
                        p.basis.ball_radius_mm,
                    );
                    seen.get(k).map_or(0.0, |s| (*s - at).norm_mm()) + doubt.major_mm
                })
                .fold(0.0, f64::max);
            SharedCross {
                mark: k,
                letter: letters[k].clone(),
                at,
                within: Length::from_mm(within),
            }
        })
        .collect();
    let mut warnings: Vec<(String, Vec<PieceId>)> = Vec::new();
    for p in group {
        for said in &p.warnings {
            match warnings.iter_mut().find(|(w, _)| w == said) {
                Some((_, pieces)) => pieces.push(p.piece.clone()),
                None => warnings.push((said.clone(), vec![p.piece.clone()])),
            }
        }
    }
    let nominal = group
        .iter()
        .map(|p| p.nominal_lands.0.norm_mm())
        .fold(0.0, f64::max);
    Some(SharedTemplate {
        serves: group
            .iter()
            .zip(settled.left)
            .map(|(p, (sum, _, _))| (p.piece.clone(), sum))
            .collect(),
        laying: laying.clone(),
        laying_words: if matches!(first.of, SheetOf::Jig(_) | SheetOf::Plate(_)) {
            stand_words(laying, &letters)
        } else {
            format!("{}{}", first.before, laying_words(laying, &letters))
        },
        rest: is_shell(&first.of).then(|| rest(group)).flatten(),
        otherwise: Vec::new(),
        crosses,
        first,
        nominal_lands: Length::from_mm(nominal),
        warnings,
    })
}

/// The templates of one class, chosen again with a little less room where an exact error came out
/// above what the choice was made with.
fn of_class(
    class: &[&Prepared],
    trials: &[Trial],
    allowed: Length,
) -> Option<(Vec<SharedTemplate>, usize)> {
    let outline = &class.first()?.basis.outline;
    let mut room = allowed;
    let mut last = None;
    for _ in 0..3 {
        let alike = with_fewest(trials, room, usize::MAX);
        let (trial, found) = leaving_least(alike, outline)?;
        let mut templates = Vec::new();
        let mut above = 0.0_f64;
        for group in &found.groups {
            let pieces: Vec<&Prepared> = group.members.iter().map(|&k| class[k]).collect();
            let start: Vec<&Sharer> = group.members.iter().map(|&k| &trial.sharers[k]).collect();
            let at = Sharer {
                landing: group.at,
                left: Length::ZERO,
                seen: Vec::new(),
            };
            let set = settled(&trial.laying, &pieces, &start, &at)?;
            if pieces.len() > 1 {
                for (sum, _, _) in &set.left {
                    above = above.max(sum.worst.mm() - allowed.mm());
                }
            }
            templates.push(shared(&trial.laying, &pieces, set)?);
        }
        last = Some((templates, found.at_least));
        if above <= SECOND_ORDER_MM {
            break;
        }
        room = room - Length::from_mm(above + SECOND_ORDER_MM);
    }
    last
}

/// The fewest templates of a feature over the run.
///
/// `within` is the radius asked for, where it is not the job's own.
///
/// # Errors
/// [`PrepareError`] of the first piece where no piece can have a template yet.
pub fn fewest_templates(
    source: &Source<'_>,
    of: impl Into<SheetOf>,
    within: Option<Length>,
) -> Result<FewestTemplates, PrepareError> {
    let of = of.into();
    let (mut made, mut without) = (Vec::new(), Vec::new());
    for (piece, _) in source.job.pieces_in_order() {
        match prepare_sheet(source, &of, piece) {
            Ok(mut p) => {
                p.allowed = within.unwrap_or(p.allowed);
                made.push(p);
            }
            Err(why) => without.push((piece.clone(), why)),
        }
    }
    let Some(allowed) = made.first().map(|p| p.allowed) else {
        return Err(without.into_iter().next().map_or(
            PrepareError::NotSetUp {
                what: "a piece",
                of: of.to_string(),
                then: "add the pieces of the run first",
            },
            |(_, why)| why,
        ));
    };
    let mut classes: Vec<(Likeness, Vec<&Prepared>)> = Vec::new();
    for p in &made {
        let like = likeness(source, p);
        match classes.iter_mut().find(|(l, _)| *l == like) {
            Some((_, list)) => list.push(p),
            None => classes.push((like, vec![p])),
        }
    }
    let (mut templates, mut at_least) = (Vec::new(), 0);
    let in_patches = matches!(of, SheetOf::Patches(_));
    let own = |class: &[&Prepared]| class.first().map_or(allowed, |p| p.allowed);
    let in_sets: Vec<TriedSets<'_>> = classes
        .iter()
        .filter(|_| in_patches)
        .map(|(_, class)| TriedSets::of(source, class, own(class)))
        .collect();
    for ((_, class), tried) in classes.iter().zip(&in_sets) {
        let (mut some, least) = tried.fewest(own(class));
        templates.append(&mut some);
        at_least += least;
    }
    let tried: Vec<(&[&Prepared], Vec<Trial>)> = classes
        .iter()
        .filter(|_| !in_patches)
        .map(|(_, list)| (list.as_slice(), trials(list)))
        .collect();
    for (class, trials) in &tried {
        match of_class(class, trials, own(class)) {
            Some((mut some, least)) => {
                templates.append(&mut some);
                at_least += least;
            }
            // No laying holds on all of them: each has the template that `prepare` found for it.
            None => {
                for p in *class {
                    let alone = trials_of_one(p);
                    templates.extend(alone);
                }
                at_least += class.len();
            }
        }
    }
    let place = |t: &SharedTemplate| {
        t.serves
            .first()
            .and_then(|(piece, _)| made.iter().position(|p| p.piece == *piece))
    };
    templates.sort_by_key(place);
    Ok(FewestTemplates {
        curve: curve(&tried, &in_sets, allowed),
        templates,
        at_least,
        allowed,
        without,
    })
}

fn trials_of_one(p: &Prepared) -> Option<SharedTemplate> {
    let (slopes, sum) = p.basis.leaves(&p.placed, &p.laying, &[]).ok()?;
    let settled = Settled {
        crosses: p.placed.marks.clone(),
        left: vec![(sum, slopes, p.placed.marks.clone())],
    };
    shared(&p.laying, &[p], settled)
}

/// Lays a shared template out on sheets; with the fact to record when it is printed.
///
/// # Errors
/// [`PrepareError::Sheet`] where it fits no sheet.
pub fn issue_shared(
    source: &Source<'_>,
    template: &SharedTemplate,
    (number, of): (usize, usize),
    paper: Paper,
    day: &str,
) -> Result<(Drawing, Printed), PrepareError> {
    let (lead, flat) = shared_in_the_flat(source, template, (number, of), paper, day);
    let drawing = compose_together(&flat)?;
    let pieces: Vec<PieceId> = template.serves.iter().map(|(p, _)| p.clone()).collect();
    let inputs = inputs_of_all(source, &lead.of, &pieces, paper);
    // The bars of its own sheets prove each patch.
    let distances = match flat.as_slice() {
        [sheet] if lead.patches.is_empty() => check_distances(&lead, sheet, &drawing),
        _ => Vec::new(),
    };
    let printed = Printed {
        of: lead.of,
        reference: drawing.reference.clone(),
        pieces,
        day: day.to_owned(),
        inputs,
        distances,
    };
    Ok((drawing, printed))
}

/// A shared template before it is laid on paper: one, or one for each patch of a set.
pub(super) fn shared_in_the_flat(
    source: &Source<'_>,
    template: &SharedTemplate,
    (number, of): (usize, usize),
    paper: Paper,
    day: &str,
) -> (Prepared, Vec<TemplateSheet>) {
    let mut lead = template.first.clone();
    let pieces: Vec<PieceId> = template.serves.iter().map(|(p, _)| p.clone()).collect();
    let in_patches = !lead.patches.is_empty();
    for (k, cross) in lead.crosses.iter_mut().enumerate() {
        let Some(set) = template.crosses.iter().find(|c| c.mark == k && !in_patches) else {
            continue;
        };
        // What the paper's own thickness does to the place of a cross is kept.
        let by_paper = cross.at - lead.placed.marks.get(k).copied().unwrap_or(cross.at);
        cross.at = set.at + by_paper;
        cross.on_drawing = cross.at - cross.eased;
        cross.within = set.within;
    }
    if let Some((_, worst)) = template
        .serves
        .iter()
        .max_by(|a, b| a.1.worst.mm().total_cmp(&b.1.worst.mm()))
    {
        lead.budget = worst.clone();
    }
    // What is left at each hole of a piece is at most what is left at the worst of any.
    for hole in &mut lead.holes {
        hole.budget = lead.budget.clone();
    }
    lead.laying_words.clone_from(&template.laying_words);
    lead.instead = format!(
        "The drawing's own {} would land up to {} mm off on one of these pieces; this one, within {}.",
        lead.hatch.as_ref().map_or(kind_of(&lead.of), |_| CUT_OUT),
        tenth(template.nominal_lands),
        tenth(lead.budget.worst)
    );
    let number_of = |piece: &PieceId| {
        let number = source.job.pieces.get(piece).and_then(|p| p.number);
        number.map_or_else(|| piece.to_string(), |n| n.to_string())
    };
    lead.warnings = template
        .warnings
        .iter()
        .map(|(said, on)| {
            if on.len() == pieces.len() {
                return said.clone();
            }
            let list: Vec<String> = on.iter().map(number_of).collect();
            let noun = if list.len() == 1 { "piece" } else { "pieces" };
            format!("{noun} {}: {said}", list.join(", "))
        })
        .collect();
    if let Some(rest) = &template.rest {
        lead.warnings.insert(0, rest.in_words(number_of));
    }
    let mut sheet = template_sheet(source, &lead, paper, day);
    sheet.words.serves = pieces.iter().map(number_of).collect();
    sheet.words.proving = proving::stamp(source.job, &lead.of, &pieces);
    if pieces.len() > 1 {
        sheet.words.piece = String::new();
        sheet.words.plug = lead.hatch.as_ref().map(of_several);
    }
    sheet.words.template_number = if of > 1 {
        format!("{number} of {of}")
    } else {
        number.to_string()
    };
    let flat = if in_patches {
        patch_sheets(&sheet, &lead.patches, Some((number, of)))
    } else {
        vec![sheet]
    };
    (lead, flat)
}
