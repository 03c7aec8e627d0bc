//! What stands on the four cards, as text and choices, and what it means.
//!
//! Everything is kept as typed, by the name of its field; core's [`QuickCards`] is what of it is
//! understood. An answer to a field's question is kept beside the text, under the name with `?`.

mod reach;
mod way;

pub use reach::cannot_meet;
pub use way::Way;
use way::runs;

use crate::widgets::length::Heard;
use samespot_core::job::{
    AxisChoice, ClassMark, Curve, DrawnSide, Entry, FaceShape, Follow, LineSide, Marker,
    OutlineSpec, QuickCards, QuickPiece, Runs, Size, TapeLay,
};
use samespot_core::sheet::Paper;
use samespot_core::units::{
    Angle, AngleOptions, FieldOptions, Length, Sides, Typed, Unit, parse_angle,
};
use std::collections::BTreeMap;

/// What stands in each field.
pub type Answers = BTreeMap<String, String>;

/// What stands in a field.
#[must_use]
pub fn text<'a>(answers: &'a Answers, key: &str) -> &'a str {
    answers.get(key).map_or("", String::as_str)
}

/// The answer given to a field's question.
#[must_use]
pub fn picked(answers: &Answers, key: &str) -> Option<usize> {
    text(answers, &format!("{key}?")).parse().ok()
}

/// What a field takes. A piece's own length is expected to be near the good one's.
#[must_use]
pub fn options(answers: &Answers, key: &str) -> FieldOptions {
    let size = FieldOptions::length(Unit::Mm);
    if key.starts_with("piece-")
        && let Some(good) = entry(answers, "ab")
    {
        return size.expecting(good.mm);
    }
    size
}

/// What a field understood.
#[must_use]
pub fn heard(answers: &Answers, key: &str) -> Heard {
    Heard::of(
        text(answers, key),
        picked(answers, key),
        &options(answers, key),
    )
}

/// The length in a field, if it is understood.
#[must_use]
pub fn entry(answers: &Answers, key: &str) -> Option<Entry> {
    heard(answers, key).entry().filter(|e| e.mm > Length::ZERO)
}

/// The pieces on the fourth card, in order; the first is there from the start.
#[must_use]
pub fn pieces(answers: &Answers) -> Vec<u32> {
    let mut all: Vec<u32> = text(answers, "pieces")
        .split_whitespace()
        .filter_map(|n| n.parse().ok())
        .collect();
    if all.is_empty() {
        all.push(1);
    }
    all.sort_unstable();
    all.dedup();
    all
}

/// The piece in hand.
#[must_use]
pub fn piece_in_hand(answers: &Answers) -> u32 {
    let all = pieces(answers);
    let chosen = text(answers, "piece")
        .parse()
        .ok()
        .filter(|n| all.contains(n));
    chosen.or_else(|| all.last().copied()).unwrap_or(1)
}

/// Adds the piece after the last one and takes it in hand.
pub fn add_piece(answers: &mut Answers) {
    let mut all = pieces(answers);
    let next = all.last().map_or(1, |n| n.saturating_add(1));
    all.push(next);
    let words: Vec<String> = all.iter().map(u32::to_string).collect();
    answers.insert("pieces".into(), words.join(" "));
    answers.insert("piece".into(), next.to_string());
}

/// Corners are rounded by a tenth of the smaller side until somebody says otherwise.
const CORNER_SHARE: f64 = 0.1;

fn outline(answers: &Answers) -> Option<OutlineSpec> {
    let length = |key: &str| entry(answers, key);
    Some(match text(answers, "shape") {
        "circle" => OutlineSpec::Circle {
            diameter: length("across")?,
        },
        "oval" => OutlineSpec::Oval {
            width: length("across")?,
            height: length("up")?,
        },
        "box" => {
            let (width, height) = (length("across")?, length("up")?);
            let corner = length("corner").unwrap_or_else(|| {
                let side_mm = width.mm.mm().min(height.mm.mm());
                // Whole millimetres: nobody rounds a corner to 6.2.
                Entry::of_mm((side_mm * CORNER_SHARE).round().max(1.0))
            });
            OutlineSpec::RoundedBox {
                width,
                height,
                corner,
            }
        }
        "words" => {
            let words = text(answers, "words").trim();
            if words.is_empty() {
                return None;
            }
            OutlineSpec::Lettering {
                text: words.to_owned(),
                capitals: length("capitals")?,
            }
        }
        "file" => {
            let attachment = text(answers, "file-hash");
            if attachment.is_empty() {
                return None;
            }
            OutlineSpec::Artwork {
                attachment: attachment.to_owned(),
                file: text(answers, "file-name").to_owned(),
                width: length("file-width")?,
                ignored: text(answers, "file-ignored")
                    .lines()
                    .map(str::to_owned)
                    .collect(),
            }
        }
        _ => return None,
    })
}

fn size(answers: &Answers, way: Way) -> Option<Size> {
    let length = |field: &str| entry(answers, &way.key(field));
    Some(match text(answers, &way.key("by")) {
        "card" => {
            let number = text(answers, &way.key("card"))
                .trim()
                .parse()
                .ok()
                .filter(|n| *n > 0)?;
            Size::GaugeCard { number }
        }
        "edge" => Size::StraightEdge {
            length: length("edge")?,
            gap: length("gap")?,
            read_to: None,
        },
        "radius" => Size::Radius {
            radius: length("radius")?,
        },
        _ => Size::Girth {
            girth: length("girth")?,
        },
    })
}

fn lies_on(answers: &Answers) -> Option<FaceShape> {
    let hollow = text(answers, "hollow") == "hollow";
    Some(match text(answers, "lies") {
        "flat" => FaceShape::Flat,
        "round" => FaceShape::Cylinder {
            axis: if text(answers, "axis") == "across" {
                AxisChoice::Across
            } else {
                AxisChoice::Up
            },
            hollow,
            size: size(answers, Way::Across)?,
        },
        "dome" if matches!(text(answers, "other"), "bulging" | "hollow" | "flat") => {
            let across = size(answers, Way::Across)?;
            FaceShape::TwoRadii {
                across: if hollow {
                    Curve::Hollow { size: across }
                } else {
                    Curve::Bulging { size: across }
                },
                up: match text(answers, "other") {
                    "flat" => Curve::Flat,
                    "hollow" => Curve::Hollow {
                        size: size(answers, Way::Up)?,
                    },
                    _ => Curve::Bulging {
                        size: size(answers, Way::Up)?,
                    },
                },
            }
        }
        "dome" => FaceShape::Dome {
            hollow,
            size: size(answers, Way::Across)?,
        },
        _ => return None,
    })
}

/// Paper by its name on the card.
#[must_use]
pub fn paper(name: &str) -> Option<Paper> {
    Some(match name {
        "A4" => Paper::A4,
        "A3" => Paper::A3,
        "Letter" => Paper::Letter,
        "Tabloid" => Paper::Tabloid,
        _ => return None,
    })
}

/// How far its up may be turned, as understood; nothing stands for square to A–B.
#[must_use]
pub fn turn(text: &str) -> Option<Angle> {
    if text.trim().is_empty() {
        return Some(Angle::ZERO);
    }
    match parse_angle(text, &turn_options()) {
        Typed::Understood(angle) => Some(angle.angle),
        _ => None,
    }
}

/// What the field for the turn takes.
#[must_use]
pub fn turn_options() -> AngleOptions {
    AngleOptions {
        sides: Some(Sides {
            minus: "clockwise".into(),
            plus: "anticlockwise".into(),
        }),
        ..AngleOptions::default()
    }
}

/// What is understood of the cards.
#[must_use]
pub fn cards(answers: &Answers) -> QuickCards {
    let usual = QuickCards::default();
    let outline = outline(answers);
    QuickCards {
        title: title(answers, outline.as_ref()),
        outline,
        lies_on: lies_on(answers),
        a_to_b: entry(answers, "ab"),
        a_to_centre: entry(answers, "ac"),
        b_to_centre: entry(answers, "bc"),
        side: match text(answers, "side") {
            "above" => Some(LineSide::Above),
            "below" => Some(LineSide::Below),
            _ => None,
        },
        turn: turn(text(answers, "turn")).unwrap_or(Angle::ZERO),
        lay: if text(answers, "lay") == "straight" {
            TapeLay::Straight
        } else {
            TapeLay::Over
        },
        tape_class: match text(answers, "class") {
            "I" => ClassMark::I,
            "III" => ClassMark::III,
            _ => ClassMark::II,
        },
        within: entry(answers, "within").map_or(usual.within, |e| e.mm),
        along: match text(answers, "along") {
            "from-a" => Follow::FixedDistance,
            "stretch" => Follow::InProportion,
            _ => Follow::DifferenceSplit,
        },
        marker: match text(answers, "marker") {
            "pounce" => Marker::Pounce,
            "pen" => Marker::FinePen,
            "knife" => Marker::Knife,
            _ => Marker::SoftPencil,
        },
        drawn: if text(answers, "drawn") == "outside" {
            DrawnSide::Outside
        } else {
            DrawnSide::Inside
        },
        runs: runs(text(answers, "runs")),
        thickness: entry(answers, "thick").map_or(usual.thickness, |e| e.mm),
        paper: paper(text(answers, "paper")).unwrap_or(Paper::A4),
        pieces: pieces(answers)
            .into_iter()
            .map(|number| QuickPiece {
                number,
                a_to_b: entry(answers, &format!("piece-{number}")),
            })
            .collect(),
    }
}

/// What the job is called until somebody calls it something.
fn title(answers: &Answers, outline: Option<&OutlineSpec>) -> String {
    let own = text(answers, "title").trim();
    if !own.is_empty() {
        return own.to_owned();
    }
    let mm = |e: &Entry| crate::say::numbers::size(e.mm);
    match outline {
        None => String::new(),
        Some(OutlineSpec::Circle { diameter }) => format!("Circle {}", mm(diameter)),
        Some(OutlineSpec::Oval { width, height }) => format!("Oval {} × {}", mm(width), mm(height)),
        Some(OutlineSpec::RoundedBox { width, height, .. }) => {
            format!("Rounded box {} × {}", mm(width), mm(height))
        }
        Some(OutlineSpec::Lettering { text, .. }) => {
            format!("Lettering {}", text.chars().take(30).collect::<String>())
        }
        Some(artwork @ OutlineSpec::Artwork { .. }) => artwork.name(),
        Some(other) => crate::say::job::capital(&other.name()),
    }
}

/// The fields as a job fills them in.
#[must_use]
pub fn answers_of(cards: &QuickCards) -> Answers {
    let mut all = Answers::new();
    let mut put = |key: &str, value: &str| {
        all.insert(key.to_owned(), value.to_owned());
    };
    let plain = title(&Answers::new(), cards.outline.as_ref());
    if cards.title != plain && !cards.title.is_empty() {
        put("title", &cards.title);
    }
    let length = |put: &mut dyn FnMut(&str, &str), key: &str, entry: &Entry| {
        put(key, &entry.typed);
        if let Some(n) = answered(entry) {
            put(&format!("{key}?"), &n.to_string());
        }
    };
    match &cards.outline {
        Some(OutlineSpec::Circle { diameter }) => {
            put("shape", "circle");
            length(&mut put, "across", diameter);
        }
        Some(OutlineSpec::Oval { width, height }) => {
            put("shape", "oval");
            length(&mut put, "across", width);
            length(&mut put, "up", height);
        }
        Some(OutlineSpec::RoundedBox {
            width,
            height,
            corner,
        }) => {
            put("shape", "box");
            length(&mut put, "across", width);
            length(&mut put, "up", height);
            length(&mut put, "corner", corner);
        }
        Some(OutlineSpec::Lettering { text, capitals }) => {
            put("shape", "words");
            put("words", text);
            length(&mut put, "capitals", capitals);
        }
        Some(OutlineSpec::Artwork {
            attachment,
            file,
            width,
            ignored,
        }) => {
            put("shape", "file");
            put("file-hash", attachment);
            put("file-name", file);
            put("file-ignored", &ignored.join("\n"));
            length(&mut put, "file-width", width);
        }
        // Shapes that only setting out asks for stay as they are.
        _ => {}
    }
    let size = |put: &mut dyn FnMut(&str, &str), size: &Size, way: Way| match size {
        Size::Radius { radius } => {
            put(&way.key("by"), "radius");
            length(put, &way.key("radius"), radius);
        }
        Size::Girth { girth } => {
            put(&way.key("by"), "girth");
            length(put, &way.key("girth"), girth);
        }
        Size::StraightEdge {
            length: edge, gap, ..
        } => {
            put(&way.key("by"), "edge");
            length(put, &way.key("edge"), edge);
            length(put, &way.key("gap"), gap);
        }
        Size::GaugeCard { number } => {
            put(&way.key("by"), "card");
            put(&way.key("card"), &number.to_string());
        }
    };
    match &cards.lies_on {
        None | Some(FaceShape::Cone { .. } | FaceShape::Scan { .. }) => {}
        Some(FaceShape::Flat) => put("lies", "flat"),
        Some(FaceShape::Cylinder {
            axis,
            hollow,
            size: s,
        }) => {
            put("lies", "round");
            if *axis == AxisChoice::Across {
                put("axis", "across");
            }
            if *hollow {
                put("hollow", "hollow");
            }
            size(&mut put, s, Way::Across);
        }
        Some(FaceShape::TwoRadii { across, up }) => {
            put("lies", "dome");
            put(
                "other",
                match up {
                    Curve::Flat => "flat",
                    Curve::Bulging { .. } => "bulging",
                    Curve::Hollow { .. } => "hollow",
                },
            );
            if matches!(across, Curve::Hollow { .. }) {
                put("hollow", "hollow");
            }
            for (curve, way) in [(across, Way::Across), (up, Way::Up)] {
                if let Curve::Bulging { size: s } | Curve::Hollow { size: s } = curve {
                    size(&mut put, s, way);
                }
            }
        }
        Some(FaceShape::Dome { hollow, size: s }) => {
            put("lies", "dome");
            if *hollow {
                put("hollow", "hollow");
            }
            size(&mut put, s, Way::Across);
        }
    }
    for (key, entry) in [
        ("ab", &cards.a_to_b),
        ("ac", &cards.a_to_centre),
        ("bc", &cards.b_to_centre),
    ] {
        if let Some(entry) = entry {
            length(&mut put, key, entry);
        }
    }
    match cards.side {
        Some(LineSide::Above) => put("side", "above"),
        Some(LineSide::Below) => put("side", "below"),
        None => {}
    }
    usual_and_pieces(cards, &mut all);
    all
}

fn usual_and_pieces(cards: &QuickCards, all: &mut Answers) {
    let usual = QuickCards::default();
    let mut put = |key: &str, value: &str| {
        all.insert(key.to_owned(), value.to_owned());
    };
    if cards.turn != usual.turn {
        put(
            "turn",
            &format!("{}", (cards.turn.deg() * 1e6).round() / 1e6),
        );
    }
    if cards.lay == TapeLay::Straight {
        put("lay", "straight");
    }
    match cards.tape_class {
        ClassMark::I => put("class", "I"),
        ClassMark::III => put("class", "III"),
        ClassMark::II => {}
    }
    if cards.within != usual.within {
        put("within", &crate::say::numbers::size(cards.within));
    }
    match cards.along {
        Follow::FixedDistance => put("along", "from-a"),
        Follow::InProportion => put("along", "stretch"),
        Follow::DifferenceSplit => {}
    }
    match cards.marker {
        Marker::Pounce => put("marker", "pounce"),
        Marker::FinePen => put("marker", "pen"),
        Marker::Knife => put("marker", "knife"),
        Marker::SoftPencil => {}
    }
    if cards.drawn == DrawnSide::Outside {
        put("drawn", "outside");
    }
    if cards.runs == Runs::Level {
        put("runs", "level");
    }
    if cards.thickness != usual.thickness {
        put("thick", &crate::say::numbers::size(cards.thickness));
    }
    if cards.paper != Paper::A4 {
        put("paper", &cards.paper.name());
    }
    let numbers: Vec<String> = cards.pieces.iter().map(|p| p.number.to_string()).collect();
    if !numbers.is_empty() {
        put("pieces", &numbers.join(" "));
    }
    for piece in &cards.pieces {
        if let Some(entry) = &piece.a_to_b {
            put(&format!("piece-{}", piece.number), &entry.typed);
            if let Some(n) = answered(entry) {
                put(&format!("piece-{}?", piece.number), &n.to_string());
            }
        }
    }
}

/// Which of its question's readings an entry is, where its text alone would have to be asked about.
fn answered(entry: &Entry) -> Option<usize> {
    match samespot_core::units::parse_length(&entry.typed, &FieldOptions::size(Unit::Mm)) {
        Typed::Ask(ask) => ask.readings.iter().position(|r| r.mm == entry.mm),
        _ => None,
    }
}

/// Which of the four cards are filled in.
#[must_use]
pub fn filled(cards: &QuickCards, piece: u32) -> [bool; 4] {
    let lengths = [&cards.a_to_b, &cards.a_to_centre, &cards.b_to_centre];
    let read = lengths.iter().all(|l| l.is_some()) && cards.side.is_some();
    let marks = read && cannot_meet(cards).is_none();
    let here = cards
        .pieces
        .iter()
        .any(|p| p.number == piece && p.a_to_b.is_some());
    [
        cards.outline.is_some(),
        cards.lies_on.is_some(),
        marks,
        here,
    ]
}

/// The cards with what is still missing filled in so that there is a picture, and whether the two
/// marks in it are real. Nothing stands in for the first card.
#[must_use]
pub fn for_picture(cards: &QuickCards, piece: u32) -> Option<(QuickCards, bool)> {
    let mut cards = cards.clone();
    cards.outline.as_ref()?;
    let real = cards.a_to_b.is_some() && cards.a_to_centre.is_some() && cards.b_to_centre.is_some();
    if real {
        cards.lies_on.get_or_insert(FaceShape::Flat);
    } else {
        // Any triangle will do: its marks are not shown.
        cards.a_to_b = Some(Entry::of_mm(300.0));
        cards.a_to_centre = Some(Entry::of_mm(250.0));
        cards.b_to_centre = Some(Entry::of_mm(250.0));
        cards.lies_on = Some(FaceShape::Flat);
    }
    cards.side.get_or_insert(LineSide::Above);
    let good = cards.a_to_b.clone()?;
    cards.pieces.retain(|p| p.number == piece);
    if cards.pieces.is_empty() {
        cards.pieces.push(QuickPiece {
            number: piece,
            a_to_b: None,
        });
    }
    for p in &mut cards.pieces {
        if !real {
            p.a_to_b = None;
        }
        p.a_to_b.get_or_insert_with(|| good.clone());
    }
    Some((cards, real))
}

#[cfg(test)]
mod tests;
