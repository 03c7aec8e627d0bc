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
use crate::prepare::feature::{Prepared, prepare_divided};
use crate::prepare::patches::{Division, Patch, patch_words};
use crate::prepare::words::laying_words;
use crate::surface::Development;
use crate::template::{Budget, CROSS_OFF, LaidPart, SetGroup, fewest_sets};
use crate::units::Length;

/// So many ways of dividing are tried, those of the first pieces first.
const MOST_DIVISIONS: usize = 3;

/// A class of pieces with each way of dividing that was tried on all of them.
pub(super) struct TriedSets<'a> {
    class: Vec<&'a Prepared>,
    divided: Vec<DividedAlike>,
}

/// A class of pieces divided in one way.
struct DividedAlike {
    division: Division,
    /// Places in the class of those that can be divided so.
    able: Vec<usize>,
    /// These as they are divided so.
    alike: Vec<Prepared>,
    /// Each patch over these, in their order.
    parts: Vec<PartOverRun>,
}

impl<'a> TriedSets<'a> {
    pub(super) fn of(source: &Source<'_>, class: &[&'a Prepared], allowed: Length) -> Self {
        let divided = divisions(class)
            .into_iter()
            .filter_map(|division| DividedAlike::of(source, class, division, allowed));
        Self {
            divided: divided.collect(),
            class: class.to_vec(),
        }
    }

    /// How many pieces.
    pub(super) fn len(&self) -> usize {
        self.class.len()
    }

    /// The fewest sets, and how many there must be at least.
    pub(super) fn fewest(&self, allowed: Length) -> (Vec<SharedTemplate>, usize) {
        let alone: Vec<SharedTemplate> = self.class.iter().map(|p| of_one(p)).collect();
        let mut best = (alone, self.class.len());
        for alike in &self.divided {
            if let Some(found) = alike.fewest(&self.class, allowed)
                && found.0.len() < best.0.len()
            {
                best = found;
            }
        }
        best
    }

    /// How many sets it takes at a tolerance, and how many pieces not even one of their own brings within
    /// it. They are divided as for what is asked: what more patches would hold is not looked for.
    pub(super) fn count(&self, tolerance: Length) -> (usize, usize) {
        let over = |k: usize| {
            let own = self.class.get(k).map(|p| p.budget.worst.to_um());
            own.is_none_or(|worst| worst > tolerance.to_um())
        };
        let beyond = |of: &mut dyn Iterator<Item = usize>| of.filter(|&k| over(k)).count();
        let mut best = (self.class.len(), beyond(&mut (0..self.class.len())));
        for alike in &self.divided {
            let (groups, _) = alike.groups(tolerance);
            let unable = (0..self.class.len()).filter(|k| !alike.able.contains(k));
            let alone = groups.iter().filter(|g| g.members.len() == 1);
            let alone = alone.flat_map(|g| &g.members);
            let alone = alone.filter_map(|&m| alike.able.get(m).copied());
            let sets = groups.len() + unable.clone().count();
            if sets < best.0 {
                best = (sets, beyond(&mut alone.chain(unable)));
            }
        }
        best
    }
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
    /// Its ways with what each leaves for sharing of a tolerance.
    fn laid(&self, tolerance: Length) -> Vec<LaidPart> {
        self.trials.iter().map(|t| t.within(tolerance)).collect()
    }
}

impl DividedAlike {
    /// Nothing where a patch can't be laid alike on all that can be divided so.
    fn of(
        source: &Source<'_>,
        class: &[&Prepared],
        division: Division,
        allowed: Length,
    ) -> Option<Self> {
        let mut able = Vec::new();
        let mut alike = Vec::new();
        for (k, p) in class.iter().enumerate() {
            let Some(feature) = p.of.feature() else {
                continue;
            };
            if let Ok(mut made) = prepare_divided(source, feature, &p.piece, &division) {
                made.allowed = allowed;
                able.push(k);
                alike.push(made);
            }
        }
        let count = alike.first()?.patches.len();
        let mut parts = Vec::with_capacity(count);
        for k in 0..count {
            let pieces: Vec<Prepared> = (alike.iter())
                .filter_map(|p| Some(part_of(p, p.patches.get(k)?)))
                .collect();
            let trials = trials(&pieces.iter().collect::<Vec<_>>());
            if trials.is_empty() || pieces.len() < able.len() {
                return None;
            }
            parts.push(PartOverRun { pieces, trials });
        }
        Some(Self {
            division,
            able,
            alike,
            parts,
        })
    }

    /// Which of these go together at a tolerance, and how many groups there must be at least.
    fn groups(&self, tolerance: Length) -> (Vec<SetGroup>, usize) {
        let laid: Vec<Vec<LaidPart>> = self.parts.iter().map(|p| p.laid(tolerance)).collect();
        fewest_sets(&laid, self.able.len(), CROSS_OFF)
    }

    /// The fewest sets where all are divided in this way, and how many there must be at least.
    fn fewest(&self, class: &[&Prepared], allowed: Length) -> Option<(Vec<SharedTemplate>, usize)> {
        let unable: Vec<SharedTemplate> = (class.iter().enumerate())
            .filter(|(k, _)| !self.able.contains(k))
            .map(|(_, own)| of_one(own))
            .collect();
        let mut room = allowed;
        let mut last = None;
        for _ in 0..3 {
            let (groups, least) = self.groups(room);
            let (mut sets, mut above) = (Vec::new(), 0.0_f64);
            for group in &groups {
                let own = (group.members.iter())
                    .map(|&k| class.get(*self.able.get(k)?).copied())
                    .collect::<Option<Vec<_>>>()?;
                if let [one] = own.as_slice() {
                    sets.push(of_one(one));
                    continue;
                }
                let set = of_group(self, group, &own)?;
                for (_, sum) in &set.serves {
                    above = above.max(sum.worst.mm() - allowed.mm());
                }
                sets.push(set);
            }
            sets.extend(unable.iter().cloned());
            last = Some((sets, least + unable.len()));
            if above <= super::SECOND_ORDER_MM {
                break;
            }
            room = room - Length::from_mm(above + super::SECOND_ORDER_MM);
        }
        last
    }
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
fn of_group(alike: &DividedAlike, group: &SetGroup, own: &[&Prepared]) -> Option<SharedTemplate> {
    let lead = alike.alike.get(*group.members.first()?)?;
    let made: Vec<PartOfGroup> = (alike.parts.iter().enumerate())
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
            .filter(|p| !Division::of(&p.patches).is_like(&alike.division))
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
