//! The fewest sets of patches for a run.
//!
//! A set serves a group of pieces where each of its patches does, by the same laws as a stencil; the
//! way each is laid is chosen for the group. All pieces of a group are divided alike, or the same part
//! of the outline would be on another patch: each way of dividing that some piece has by itself is
//! tried on all of them. A piece that no other shares with keeps its own.

use super::{Settled, SharedCross, SharedTemplate, Sharer, Trial, settled, shared, trials};
use crate::frames::Point2;
use crate::job::PieceId;
use crate::prepare::Source;
use crate::prepare::error::PrepareError;
use crate::prepare::feature::{Prepared, prepare_divided};
use crate::prepare::patches::{Division, Patch, patch_sheets, patch_words};
use crate::prepare::words::laying_words;
use crate::sheet::{Drawing, TemplateSheet, compose_together};
use crate::surface::Development;
use crate::template::{Budget, CROSS_OFF, LaidPart, SetGroup, fewest_sets};
use crate::units::Length;

/// So many ways of dividing are tried, those of the first pieces first.
const MOST_DIVISIONS: usize = 3;

/// The fewest sets of one class of pieces, and how many there must be at least.
pub(super) fn sets(
    source: &Source<'_>,
    class: &[&Prepared],
    allowed: Length,
) -> (Vec<SharedTemplate>, usize) {
    let alone = || class.iter().map(|p| of_one(p)).collect::<Vec<_>>();
    let mut best = (alone(), class.len());
    for division in divisions(class) {
        let alike: Vec<Option<Prepared>> = (class.iter())
            .map(|p| prepare_divided(source, p.of.feature()?, &p.piece, &division).ok())
            .map(|p| {
                p.map(|mut p| {
                    p.allowed = allowed;
                    p
                })
            })
            .collect();
        if let Some(found) = divided(class, &alike, &division, allowed)
            && found.0.len() < best.0.len()
        {
            best = found;
        }
    }
    best
}

/// The ways in which pieces of a class are divided by themselves.
fn divisions(class: &[&Prepared]) -> Vec<Division> {
    let mut all: Vec<Division> = Vec::new();
    for p in class {
        let one = Division::of(&p.patches);
        if all.len() < MOST_DIVISIONS && !all.iter().any(|d| d.is_like(&one)) {
            all.push(one);
        }
    }
    all
}

/// One patch of a piece as if it were a template of its own: its part of the outline, its crosses.
fn part_of(p: &Prepared, patch: &Patch) -> Prepared {
    let mut part = p.clone();
    part.basis = patch.basis.clone();
    for (k, cross) in part.crosses.iter_mut().enumerate() {
        cross.unread |= !patch.registers.contains(&k);
    }
    part
}

/// One patch over all pieces that can be divided so.
struct PartOverRun {
    pieces: Vec<Prepared>,
    trials: Vec<Trial>,
}

impl PartOverRun {
    fn laid(&self, room: Length, allowed: Length) -> Vec<LaidPart> {
        let less = allowed - room;
        let outline = self.pieces.first().map(|p| p.basis.outline.as_slice());
        let list = |t: &Trial| -> Vec<Sharer> {
            let less = |s: &Sharer| Sharer {
                left: s.left - less,
                ..s.clone()
            };
            t.sharers.iter().map(less).collect()
        };
        let laid = |t| LaidPart::new(outline.unwrap_or_default(), list(t));
        self.trials.iter().map(laid).collect()
    }
}

/// The fewest sets where all are divided in one way; nothing where a patch can't be laid alike on all.
fn divided(
    class: &[&Prepared],
    alike: &[Option<Prepared>],
    division: &Division,
    allowed: Length,
) -> Option<(Vec<SharedTemplate>, usize)> {
    let able: Vec<(&&Prepared, &Prepared)> = (class.iter().zip(alike))
        .filter_map(|(own, p)| Some((own, p.as_ref()?)))
        .collect();
    let count = able.first()?.1.patches.len();
    let mut parts = Vec::with_capacity(count);
    for k in 0..count {
        let pieces: Vec<Prepared> = (able.iter())
            .filter_map(|(_, p)| Some(part_of(p, p.patches.get(k)?)))
            .collect();
        let trials = trials(&pieces.iter().collect::<Vec<_>>());
        if trials.is_empty() || pieces.len() < able.len() {
            return None;
        }
        parts.push(PartOverRun { pieces, trials });
    }
    let mut room = allowed;
    let mut last = None;
    for _ in 0..3 {
        let laid: Vec<Vec<LaidPart>> = parts.iter().map(|p| p.laid(room, allowed)).collect();
        let (groups, least) = fewest_sets(&laid, able.len(), CROSS_OFF);
        let (mut sets, mut above) = (Vec::new(), 0.0_f64);
        for group in &groups {
            if let [one] = group.members.as_slice() {
                sets.push(of_one(able.get(*one)?.0));
                continue;
            }
            let own: Vec<&Prepared> = group.members.iter().map(|&k| *able[k].0).collect();
            let lead = able.get(*group.members.first()?)?.1;
            let set = of_group(&parts, group, lead, (&own, division))?;
            for (_, sum) in &set.serves {
                above = above.max(sum.worst.mm() - allowed.mm());
            }
            sets.push(set);
        }
        let unable = class.iter().zip(alike).filter(|(_, p)| p.is_none());
        let unable: Vec<SharedTemplate> = unable.map(|(own, _)| of_one(own)).collect();
        let at_least = least + unable.len();
        sets.extend(unable);
        last = Some((sets, at_least));
        if above <= super::SECOND_ORDER_MM {
            break;
        }
        room = room - Length::from_mm(above + super::SECOND_ORDER_MM);
    }
    last
}

/// What one patch comes to on the pieces of a group.
struct PartOfGroup {
    patch: Patch,
    crosses: Vec<SharedCross>,
    budgets: Vec<Budget>,
}

fn of_part(part: &PartOverRun, k: usize, group: &SetGroup, lead: &Prepared) -> Option<PartOfGroup> {
    let (way, at) = group.parts.get(k)?;
    let trial = part.trials.get(*way)?;
    let pieces: Vec<&Prepared> = group.members.iter().map(|&m| &part.pieces[m]).collect();
    let start: Vec<&Sharer> = group.members.iter().map(|&m| &trial.sharers[m]).collect();
    let at = Sharer {
        landing: *at,
        left: Length::ZERO,
        seen: Vec::new(),
    };
    let set: Settled = settled(&trial.laying, &pieces, &start, &at)?;
    let made = shared(&trial.laying, &pieces, set)?;
    let budgets: Vec<Budget> = made.serves.iter().map(|(_, sum)| sum.clone()).collect();
    let mut patch = lead.patches.get(k)?.clone();
    let whole =
        Development::new(&lead.surface, lead.placed.pose.centre, lead.placed.pose.up).ok()?;
    for (cross, mark) in patch.crosses.iter_mut().zip(&patch.registers) {
        let set = made.crosses.iter().find(|c| c.mark == *mark)?;
        cross.at = patch.sheet.flat(whole.face(set.at).ok()?).ok()? + cross.eased;
        cross.on_drawing = cross.at - cross.eased;
        cross.within = set.within;
    }
    let letters: Vec<String> = lead.crosses.iter().map(|c| c.letter.clone()).collect();
    patch.laying = patch_words(k, &patch.joins, &laying_words(&trial.laying, &letters));
    patch.laid = trial.laying.clone();
    patch.budget = (budgets.iter()).max_by_key(|b| b.worst.to_um())?.clone();
    let crosses = made.crosses.into_iter().map(|c| SharedCross {
        letter: on_patch(&c.letter, k),
        ..c
    });
    Some(PartOfGroup {
        crosses: crosses.collect(),
        patch,
        budgets,
    })
}

/// *B on patch 2*.
fn on_patch(letter: &str, k: usize) -> String {
    format!("{letter} on patch {}", k + 1)
}

/// One set and the pieces it serves.
fn of_group(
    parts: &[PartOverRun],
    group: &SetGroup,
    lead: &Prepared,
    (own, division): (&[&Prepared], &Division),
) -> Option<SharedTemplate> {
    let made: Vec<PartOfGroup> = (parts.iter().enumerate())
        .map(|(k, part)| of_part(part, k, group, lead))
        .collect::<Option<_>>()?;
    let serves = own.iter().enumerate().map(|(n, p)| {
        let on_piece = made.iter().filter_map(|m| m.budgets.get(n));
        let worst = on_piece.max_by_key(|b| b.worst.to_um());
        Some((p.piece.clone(), worst?.clone()))
    });
    let mut warnings: Vec<(String, Vec<PieceId>)> = Vec::new();
    for p in own {
        for said in &p.warnings {
            match warnings.iter_mut().find(|(w, _)| w == said) {
                Some((_, pieces)) => pieces.push(p.piece.clone()),
                None => warnings.push((said.clone(), vec![p.piece.clone()])),
            }
        }
    }
    let nominal = own.iter().map(|p| p.nominal_lands.0.norm_mm());
    let mut first = lead.clone();
    first.patches = made.iter().map(|m| m.patch.clone()).collect();
    Some(SharedTemplate {
        serves: serves.collect::<Option<_>>()?,
        laying: lead.laying.clone(),
        laying_words: lead.laying_words.clone(),
        crosses: made.into_iter().flat_map(|m| m.crosses).collect(),
        nominal_lands: Length::from_mm(nominal.fold(0.0, f64::max)),
        warnings,
        rest: None,
        otherwise: (own.iter())
            .filter(|p| !Division::of(&p.patches).is_like(division))
            .map(|p| p.piece.clone())
            .collect(),
        first,
    })
}

/// The set of one piece by itself.
fn of_one(p: &Prepared) -> SharedTemplate {
    let crosses = p.patches.iter().enumerate().flat_map(|(k, patch)| {
        let on = patch.crosses.iter().zip(&patch.registers);
        on.map(move |(c, &mark)| SharedCross {
            mark,
            letter: on_patch(&c.letter, k),
            at: p.placed.marks.get(mark).copied().unwrap_or(Point2::ORIGIN),
            within: c.within,
        })
    });
    SharedTemplate {
        serves: vec![(p.piece.clone(), p.budget.clone())],
        laying: p.laying.clone(),
        laying_words: p.laying_words.clone(),
        crosses: crosses.collect(),
        nominal_lands: Length::from_mm(p.nominal_lands.0.norm_mm()),
        warnings: (p.warnings.iter())
            .map(|w| (w.clone(), vec![p.piece.clone()]))
            .collect(),
        rest: None,
        otherwise: Vec::new(),
        first: p.clone(),
    }
}

/// The sheets of a set, with one reference.
pub(super) fn sheets_of_set(
    sheet: &TemplateSheet,
    patches: &[Patch],
    set: (usize, usize),
) -> Result<Drawing, PrepareError> {
    let sheets = patch_sheets(sheet, patches, Some(set));
    Ok(compose_together(&sheets)?)
}
