//! The run at a glance: a tile for each piece.

use super::numbers::tenth;
use samespot_core::answer::{FeatureSurvey, PieceSurvey, Survey};
use samespot_core::job::{FeatureEdit, Hand, Job, PieceEdit, PieceId};
use samespot_core::prepare::checks::{PieceStands, Standing, piece_stands};
use samespot_core::run::{RunView, painting_stage, place_in};
use samespot_core::units::Length;

/// What the boxes of a tile stand for, from the left.
#[must_use]
pub const fn step_names(boxes: usize) -> &'static str {
    match boxes {
        4 => "read, printed, painted, checked",
        _ => "read, printed, checked",
    }
}

/// What a piece waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Waits {
    /// Readings, or something else that stops its template.
    Reading,
    /// Its first print.
    Printing,
    /// Another print: the one in hand no longer matches.
    PrintingAgain,
    /// Marking and checking.
    Checking,
    /// Nothing that is known here.
    Nothing,
}

impl Waits {
    /// One word for a tile.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Reading => "read",
            Self::Printing => "print",
            Self::PrintingAgain => "reprint",
            Self::Checking => "mark",
            Self::Nothing => "–",
        }
    }

    const fn spoken(self) -> &'static str {
        match self {
            Self::Reading => "waits for readings",
            Self::Printing => "ready to print",
            Self::PrintingAgain => "its printed sheet is out of date, print it again",
            Self::Checking => "printed, to be marked and checked",
            Self::Nothing => "nothing to wait for",
        }
    }
}

/// One tile.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// The piece.
    pub piece: PieceId,
    /// Its number as written.
    pub number: String,
    /// Its batch.
    pub batch: Option<u32>,
    /// The first of its batch in this order.
    pub parts_batch: bool,
    /// The stage its casting has come to.
    pub stage: Option<String>,
    /// What it waits for.
    pub waits: Waits,
    /// Its worst feature: by how much, and whether that fits.
    pub worst: Option<(String, Length, bool)>,
    /// What stands under the number: what it waits for, in one word.
    pub word: &'static str,
    /// A box for each of [`step_names`], filled as it is done.
    pub steps: Vec<bool>,
    /// Stage and what may be done next, in one sentence.
    pub hint: String,
    /// All of it in words.
    pub spoken: String,
}

/// A feature's name with its hand: `eye, left`.
#[must_use]
pub fn feature_name(feature: Option<&FeatureEdit>, id: &str) -> String {
    let Some(feature) = feature else {
        return id.to_owned();
    };
    let name = feature.name.clone().unwrap_or_else(|| id.to_owned());
    let hand = match feature.hand {
        Some(Hand::Left) => "left",
        Some(Hand::Right) => "right",
        None => return name,
    };
    // Some write the hand into the name: once is enough.
    let said = name
        .to_lowercase()
        .split(|c: char| !c.is_alphabetic())
        .any(|w| w == hand);
    if said {
        name
    } else {
        format!("{name}, {hand}")
    }
}

/// The number of a piece as written, or its id.
#[must_use]
pub fn piece_number(id: &PieceId, piece: Option<&PieceEdit>) -> String {
    piece
        .and_then(|p| p.number)
        .map_or_else(|| id.to_string(), |n| n.to_string())
}

fn waits(features: &[FeatureSurvey], checked: bool) -> Waits {
    if features.is_empty() {
        Waits::Nothing
    } else if features.iter().any(|f| f.stale.is_some()) {
        Waits::PrintingAgain
    } else if features.iter().any(|f| f.errors.is_some() && !f.printed) {
        Waits::Printing
    } else if features.iter().any(|f| f.cannot.is_some()) {
        Waits::Reading
    } else if checked {
        Waits::Nothing
    } else {
        Waits::Checking
    }
}

fn worst(job: &Job, features: &[FeatureSurvey], as_drawn: bool) -> Option<(String, Length, bool)> {
    features
        .iter()
        .filter_map(|f| {
            let errors = f.errors.as_ref()?;
            let error = if as_drawn {
                errors.as_drawn
            } else {
                errors.as_measured
            };
            let name = feature_name(job.features.get(&f.feature), f.feature.as_str());
            Some((name, error, error <= errors.allowed))
        })
        // The one furthest beyond what it may be counts, not the one with the largest number.
        .max_by(|a, b| {
            (!a.2, a.1.mm())
                .partial_cmp(&(!b.2, b.1.mm()))
                .unwrap_or(core::cmp::Ordering::Equal)
        })
}

/// The tiles of the run. *As drawn* stands worst first, otherwise pieces stand in their order.
#[must_use]
pub fn tiles(job: &Job, survey: Option<&Survey>, as_drawn: bool) -> Vec<Tile> {
    let found = |id: &PieceId| -> Option<&PieceSurvey> {
        survey.and_then(|s| s.pieces.iter().find(|p| p.piece == *id))
    };
    // A quick template follows no stages: nothing is looked up for it.
    let run = (!job.stages.is_empty()).then(|| samespot_core::run::look(job));
    let mut tiles: Vec<Tile> = job
        .pieces_in_order()
        .into_iter()
        .map(|(id, piece)| {
            let features = found(id).map_or(&[][..], |p| p.features.as_slice());
            let mut tile = tile(job, id, piece, features, as_drawn);
            if let Some(run) = &run {
                with_stages(&mut tile, run, painting_stage(job));
            }
            with_verdict(&mut tile, job, &piece_stands(job, id));
            tile
        })
        .collect();
    if as_drawn {
        let size = |t: &Tile| t.worst.as_ref().map_or(-1.0, |w| w.1.mm());
        tiles.sort_by(|a, b| size(b).total_cmp(&size(a)));
    } else {
        let mut last = None;
        for (at, tile) in tiles.iter_mut().enumerate() {
            tile.parts_batch = at > 0 && tile.batch != last;
            last = tile.batch;
        }
    }
    tiles
}

/// What was found on it. *Outside* and *can’t tell* stand before anything it waits for; that it is
/// within, only where it waits for nothing but its check and nothing is left to be checked.
fn with_verdict(tile: &mut Tile, job: &Job, stands: &PieceStands<'_>) {
    let Some((standing, feature)) = stands.worst else {
        return;
    };
    let (word, short) = (standing.word(), standing.short());
    let waiting = [Waits::Nothing.word(), Waits::Checking.word(), "check"];
    if standing >= Standing::CantTell || stands.to_check == 0 && waiting.contains(&tile.word) {
        tile.word = short;
    } else if waiting.contains(&tile.word) {
        tile.word = "check";
    }
    let name = feature_name(job.features.get(feature), feature.as_str());
    let mut said = format!("checked: {name} {word}");
    if stands.to_check > 0 {
        said.push_str(&format!("; {} more to check", stands.to_check));
    }
    tile.spoken.push_str(&format!(", {said}"));
    tile.hint = if tile.hint.is_empty() {
        said
    } else {
        format!("{}; {said}", tile.hint)
    };
}

/// What the stages of its castings say: what a box stands for is what was done, so that a painted piece looks
/// other than one that is only read, however many stages lie between.
fn with_stages(tile: &mut Tile, run: &RunView, painting: Option<usize>) {
    let Some(piece) = run.pieces.iter().find(|p| p.piece == tile.piece) else {
        return;
    };
    let at = piece
        .stage
        .as_deref()
        .and_then(|s| place_in(&run.stages, s));
    let painted = at
        .zip(painting)
        .is_some_and(|(at, painting)| at >= painting);
    if let (Some(_), [read, printed, checked]) = (painting, tile.steps.as_slice()) {
        tile.steps = vec![*read, *printed, painted, *checked];
    }
    // Nothing is printed any more for what is painted: it waits for its check.
    if painted && tile.waits != Waits::Nothing {
        tile.word = "check";
        tile.spoken = tile
            .spoken
            .replace(tile.waits.spoken(), "painted, to be checked");
    }
    tile.stage.clone_from(&piece.stage);
    if piece.held {
        tile.word = "waits";
    }
    tile.hint = match &piece.stage {
        Some(stage) => format!("{stage}; {}", piece.waits),
        None => piece.waits.clone(),
    };
    tile.spoken.push_str(&format!(", {}", piece.waits));
}

fn tile(
    job: &Job,
    id: &PieceId,
    piece: &PieceEdit,
    features: &[FeatureSurvey],
    as_drawn: bool,
) -> Tile {
    let castings = job
        .marriages
        .get(id)
        .map_or(&[][..], |m| m.castings.as_slice());
    let stands = piece_stands(job, id);
    let checked = stands.to_check == 0
        && stands
            .worst
            .is_some_and(|(standing, _)| standing <= Standing::LetStand);
    let steps = [
        castings
            .iter()
            .any(|casting| job.readings.about(casting).next().is_some()),
        !features.is_empty() && features.iter().all(|f| f.printed),
        checked,
    ];
    let stage = castings
        .iter()
        .find_map(|c| job.stage_of(c))
        .map(str::to_owned);
    let stage_words = stage.clone().unwrap_or_default();
    let number = piece_number(id, Some(piece));
    // Nothing is printed for a piece before its casting was read: the drawing's own template is what the
    // run is measured to do without. Where nothing of the job asks for a reading nothing waits for one.
    let unread = !steps[0] && !job.castings.is_empty();
    let waits = match waits(features, checked) {
        Waits::Printing if unread => Waits::Reading,
        other => other,
    };
    let worst = worst(job, features, as_drawn);
    let mut spoken = format!("Piece {number}");
    if let Some(batch) = piece.batch {
        spoken.push_str(&format!(", batch {batch}"));
    }
    if let Some(stage) = &stage {
        spoken.push_str(&format!(", {stage}"));
    }
    spoken.push_str(&format!(", {}", waits.spoken()));
    if let Some((name, error, fits)) = &worst {
        let with = if as_drawn {
            "with the drawing’s own template"
        } else {
            "at worst"
        };
        let fits = if *fits {
            "inside what is allowed"
        } else {
            "more than is allowed"
        };
        spoken.push_str(&format!(", {name} {} mm {with}, {fits}", tenth(*error)));
    }
    Tile {
        piece: id.clone(),
        number,
        batch: piece.batch,
        parts_batch: false,
        stage,
        word: waits.word(),
        waits,
        worst,
        steps: steps.to_vec(),
        hint: stage_words,
        spoken,
    }
}

/// What nominal templates would have done to the run, in one sentence.
#[must_use]
pub fn as_drawn_sentence(tiles: &[Tile]) -> String {
    let known: Vec<_> = tiles
        .iter()
        .filter_map(|t| t.worst.as_ref().map(|w| (t, w)))
        .collect();
    let out = known.iter().filter(|(_, w)| !w.2).count();
    match known.first() {
        None => "Nothing is measured yet".into(),
        Some((tile, worst)) => format!(
            "{out} of {} would land outside; worst: piece {}, {} mm",
            known.len(),
            tile.number,
            tenth(worst.1),
        ),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::answer::SurveyErrors;
    use samespot_core::job::{FeatureId, JobId, Ledger};

    fn mm(mm: f64) -> Length {
        Length::from_mm(mm)
    }

    fn feature(measured: f64, drawn: f64, printed: bool) -> FeatureSurvey {
        FeatureSurvey {
            feature: FeatureId::new("eye").unwrap(),
            errors: Some(SurveyErrors {
                allowed: mm(2.0),
                as_measured: mm(measured),
                as_drawn: mm(drawn),
            }),
            cannot: None,
            stale: None,
            printed,
        }
    }

    fn job() -> Job {
        let mut job = Ledger::new(JobId::new("j").unwrap()).fold();
        for (n, batch) in [(1, 1), (2, 1), (3, 2)] {
            let id = PieceId::new(&n.to_string()).unwrap();
            job.pieces.insert(
                id,
                PieceEdit {
                    number: Some(n),
                    batch: Some(batch),
                },
            );
        }
        job
    }

    fn survey() -> Survey {
        let piece = |n: u32, f| PieceSurvey {
            piece: PieceId::new(&n.to_string()).unwrap(),
            features: vec![f],
        };
        Survey {
            pieces: vec![
                piece(1, feature(1.2, 1.0, true)),
                piece(2, feature(1.2, 4.1, false)),
                piece(3, feature(2.5, 2.2, false)),
            ],
        }
    }

    #[test]
    fn tiles_stand_in_batches_and_as_drawn_worst_first() {
        let tiles = tiles(&job(), Some(&survey()), false);
        let numbers: Vec<_> = tiles
            .iter()
            .map(|t| (t.number.as_str(), t.parts_batch))
            .collect();
        assert_eq!(numbers, [("1", false), ("2", false), ("3", true)]);
        assert_eq!(tiles[0].waits, Waits::Checking);
        assert_eq!(tiles[1].waits, Waits::Printing);
        assert!(!tiles[2].worst.as_ref().unwrap().2);
        let drawn = super::tiles(&job(), Some(&survey()), true);
        let numbers: Vec<_> = drawn.iter().map(|t| t.number.as_str()).collect();
        assert_eq!(numbers, ["2", "3", "1"]);
        assert_eq!(
            as_drawn_sentence(&drawn),
            "2 of 3 would land outside; worst: piece 2, 4.1 mm"
        );
    }

    /// A casting is there and nothing was read on it: it is read before anything is printed.
    #[test]
    fn nothing_is_printed_before_it_is_measured() {
        let mut job = job();
        let id = samespot_core::job::CastingId::new("c").unwrap();
        job.castings
            .insert(id, samespot_core::job::CastingEdit::default());
        let tiles = tiles(&job, Some(&survey()), false);
        assert_eq!((tiles[1].waits, tiles[1].word), (Waits::Reading, "read"));
        // What was printed all the same is marked and checked.
        assert_eq!(tiles[0].waits, Waits::Checking);
    }

    #[test]
    fn a_tile_says_all_of_it_in_words() {
        let tiles = tiles(&job(), Some(&survey()), false);
        assert_eq!(
            tiles[1].spoken,
            "Piece 2, batch 1, ready to print, eye 1.2 mm at worst, inside what is allowed"
        );
    }

    #[test]
    fn a_tile_says_what_was_found_before_what_it_waits_for() {
        let all = tiles(&job(), Some(&survey()), false);
        let eye = FeatureId::new("eye").unwrap();
        let word = |n: usize, standing: Standing, to_check: usize| {
            let mut tile = all[n].clone();
            let worst = Some((standing, &eye));
            with_verdict(&mut tile, &job(), &PieceStands { worst, to_check });
            let more = match to_check {
                0 => String::new(),
                n => format!("; {n} more to check"),
            };
            let said = format!(", checked: eye {}{more}", standing.word());
            assert!(tile.spoken.ends_with(&said), "{}", tile.spoken);
            tile.word
        };
        // Piece 1 waits for its check, piece 2 for its print.
        assert_eq!(word(0, Standing::Within, 0), "within");
        assert_eq!(word(1, Standing::Within, 0), "print");
        assert_eq!(word(1, Standing::Outside, 0), "outside");
        assert_eq!(word(1, Standing::CantTell, 0), "unsure");
        assert_eq!(word(1, Standing::MakeAgain, 0), "redo");
        // One of four within says nothing of the other three.
        assert_eq!(word(0, Standing::Within, 3), "check");
        assert_eq!(word(0, Standing::LetStand, 1), "check");
        assert_eq!(word(0, Standing::Outside, 3), "outside");
    }

    /// Pieces 1 and 2 are read alike; 1 is painted in a list of thirteen stages, where a share of five boxes
    /// showed both alike.
    #[test]
    fn a_painted_piece_looks_other_than_one_that_is_read() {
        let stages = ["pulled", "cleaned up", "measured", "primed", "eyes painted"];
        let piece = |n: u32, stage: &str| samespot_core::run::PieceView {
            piece: PieceId::new(&n.to_string()).unwrap(),
            name: format!("piece {n}"),
            castings: Vec::new(),
            stage: Some(stage.to_owned()),
            waits: String::new(),
            held: false,
        };
        let run = RunView {
            stages: stages.map(String::from).to_vec(),
            holds: Vec::new(),
            castings: Vec::new(),
            moulds: Vec::new(),
            pieces: vec![piece(1, "eyes painted"), piece(2, "measured")],
        };
        let mut all = tiles(&job(), Some(&survey()), false);
        for tile in &mut all {
            with_stages(tile, &run, Some(4));
        }
        assert_eq!(all[0].steps, [false, true, true, false]);
        assert_eq!(all[1].steps, [false; 4]);
        assert_eq!((all[0].word, all[1].word), ("check", "print"));
        assert!(
            all[0].spoken.contains("painted, to be checked"),
            "{}",
            all[0].spoken
        );
        assert_eq!(step_names(4).split(", ").count(), 4);
    }

    #[test]
    fn before_anything_is_looked_over_tiles_promise_nothing() {
        let tiles = tiles(&job(), None, false);
        assert!(
            tiles
                .iter()
                .all(|t| t.worst.is_none() && t.waits == Waits::Nothing)
        );
    }
}
