//! Gauge cards to cut out: numbered arcs at true size, nested like roof tiles.
//!
//! ```text
//!        ╭───────── 33 ─────────╮   upper edge: held into a hollow
//!     ╭──╯      R 233 mm        ╰──╮
//!     ╰──╮                      ╭──╯
//!        ╰─────────────────────╯     both edges have the card's radius
//! ```
//!
//! Both edges of a card are the same arc, so that one card serves a bulge and a hollow, and the
//! next card nests over it.

use super::board::{Board, Run, Side, Style, um};
use super::drawing::{Contour, Drawing, Meaning, Page, PaperSize, Segment, Shape, Spot};
use super::error::SheetError;
use super::ground::bar_length;
use super::paper::{Paper, SheetSetup};
use super::reference::reference;
use crate::frames::{Point2, Sheet};
use crate::surface::size::gauge_card;
use crate::units::Length;
use kurbo::Rect;
use serde::{Deserialize, Serialize};

/// From the lower edge of a card to its upper one, mm: a number of 7 mm and two lines.
const BAND_MM: f64 = 30.0;
/// Between two cards, mm: room for a pair of scissors to come in.
const APART_MM: f64 = 3.0;
/// Title and check bar at the top of a page, mm.
const HEAD_MM: f64 = 27.0;
/// Check bar and its words at the left of a page, mm.
const SIDE_MM: f64 = 9.0;
/// Fields of a check bar.
const TICK_MM: f64 = 10.0;
/// How many cards either way of a number are its neighbours: up to the next of every fourth.
const NEIGHBOURS: i64 = 3;

/// Which cards to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CardSet {
    /// Every fourth: to begin with.
    EveryFourth,
    /// A card and those between it and the next of every fourth, either way.
    Around {
        /// Its number.
        number: i64,
    },
    /// All of them.
    All,
}

impl CardSet {
    fn numbers(self) -> Vec<i64> {
        let all = gauge_card::FIRST..=gauge_card::LAST;
        match self {
            Self::EveryFourth => all.step_by(4).collect(),
            Self::All => all.collect(),
            Self::Around { number } => {
                let middle = number.clamp(gauge_card::FIRST, gauge_card::LAST);
                all.filter(|n| (n - middle).abs() <= NEIGHBOURS).collect()
            }
        }
    }

    fn words(self) -> String {
        let numbers = self.numbers();
        let (first, last) = (numbers.first().copied(), numbers.last().copied());
        let (first, last) = (first.unwrap_or_default(), last.unwrap_or_default());
        match self {
            Self::EveryFourth => format!("Gauge cards {first} to {last}, every fourth"),
            Self::Around { .. } | Self::All => format!("Gauge cards {first} to {last}"),
        }
    }
}

#[derive(Debug, Clone, Copy)]
struct Card {
    number: i64,
    radius_mm: f64,
    long_mm: f64,
}

impl Card {
    /// How far the edge has fallen at a distance from its middle.
    fn fall_mm(self, x: f64) -> f64 {
        x * x / (self.radius_mm + libm::sqrt(self.radius_mm * self.radius_mm - x * x))
    }
}

/// A card with the middle of its lower edge.
struct Put {
    card: Card,
    x: f64,
    y: f64,
}

fn at(x: f64, y: f64) -> Point2<Sheet> {
    Point2::from_mm(x, y)
}

/// The sheets of a set of cards, on as few pages as either way round of the paper needs.
///
/// # Errors
/// A paper that is none, or too small for the cards asked for.
pub fn gauge_cards(set: CardSet, paper: Paper) -> Result<Drawing, SheetError> {
    let upright = paper.upright()?;
    let lying = PaperSize {
        width: upright.height,
        height: upright.width,
    };
    let cards: Vec<Card> = set
        .numbers()
        .into_iter()
        .filter_map(|number| {
            Some(Card {
                number,
                radius_mm: gauge_card::radius(number).ok()?.mm(),
                long_mm: gauge_card::long(number).ok()?.mm(),
            })
        })
        .collect();
    let mut best: Option<(PaperSize, Vec<Vec<Put>>)> = None;
    for size in [lying, upright] {
        if let Some(pages) = nested(&cards, room(size))
            && best.as_ref().is_none_or(|b| pages.len() < b.1.len())
        {
            best = Some((size, pages));
        }
    }
    let (size, pages) = best.ok_or_else(|| {
        let r = room(lying);
        SheetError::PaperTooSmall {
            paper: paper.name(),
            width: Length::from_mm(r.width()),
            height: Length::from_mm(r.height()),
        }
    })?;
    let of = pages.len();
    let words = Words::new(set);
    let pages: Vec<Page> = pages
        .iter()
        .enumerate()
        .map(|(n, put)| page(size, put, &words, (n + 1, of)))
        .collect();
    let mut readable = vec![words.title.clone()];
    readable.extend(words.how.iter().cloned());
    for card in &cards {
        readable.push(format!(
            "card {}: radius {}",
            card.number,
            mm_words(card.radius_mm)
        ));
    }
    let mut drawing = Drawing {
        title: words.title.clone(),
        reference: String::new(),
        readable,
        pages,
    };
    drawing.reference = reference(&drawing, None, 0);
    Ok(drawing)
}

/// Where cards may lie on a page.
fn room(size: PaperSize) -> Rect {
    let margin = SheetSetup::default().margin.mm();
    let (w, h) = (
        f64::from(size.width) / 1000.0,
        f64::from(size.height) / 1000.0,
    );
    Rect::new(
        margin + SIDE_MM,
        margin,
        (w - margin).max(margin + SIDE_MM),
        (h - margin - HEAD_MM).max(margin),
    )
}

/// Cards in columns, each column a stack that nests; `None` where one doesn't fit at all.
fn nested(cards: &[Card], room: Rect) -> Option<Vec<Vec<Put>>> {
    let pitch = BAND_MM + APART_MM;
    let mut pages: Vec<Vec<Put>> = Vec::new();
    let mut page: Vec<Put> = Vec::new();
    let mut x0 = room.x0;
    let mut rest = cards;
    while let Some((first, _)) = rest.split_first() {
        let fall = first.fall_mm(first.long_mm / 2.0);
        let high = (room.height() - fall + APART_MM) / pitch;
        // Later cards are longer: a stack ends where its card would no longer lie beside the last.
        let stack: Vec<Card> = rest
            .iter()
            .zip(1_u32..)
            .take_while(|(c, n)| f64::from(*n) <= high && x0 + c.long_mm <= room.x1)
            .map(|(c, _)| *c)
            .collect();
        let Some(last) = stack.last().copied() else {
            if page.is_empty() {
                return None;
            }
            pages.push(core::mem::take(&mut page));
            x0 = room.x0;
            continue;
        };
        rest = rest.get(stack.len()..)?;
        page.extend(stack.into_iter().zip(0_u32..).map(|(card, n)| Put {
            card,
            x: x0 + last.long_mm / 2.0,
            y: room.y0 + fall + f64::from(n) * pitch,
        }));
        x0 += last.long_mm + APART_MM;
    }
    if !page.is_empty() {
        pages.push(page);
    }
    Some(pages)
}

struct Words {
    title: String,
    how: Vec<String>,
}

impl Words {
    fn new(set: CardSet) -> Self {
        let mut how = vec![
            "Print at 100 %, measure both bars. Stick it to card, cut along the middle of the line."
                .to_owned(),
            "Hold a card square to the face: lower edge on a bulge, upper edge in a hollow. The one that shows no light, neither under its middle nor under its ends, says the radius: type its number."
                .to_owned(),
        ];
        let close = gauge_card::first_too_close();
        if set.numbers().iter().any(|n| *n >= close) && set != CardSet::EveryFourth {
            how.push(format!(
                "From {close} on neighbours are too close to tell apart: a straight-edge and the gap under it says more."
            ));
        }
        Self {
            title: set.words(),
            how,
        }
    }
}

fn mm_words(mm: f64) -> String {
    if mm < 99.95 {
        format!("{mm:.1} mm")
    } else {
        format!("{mm:.0} mm")
    }
}

fn page(size: PaperSize, put: &[Put], words: &Words, (n, of): (usize, usize)) -> Page {
    let mut board: Board<Sheet> = Board::new();
    let room = room(size);
    head(&mut board, room, words, (n, of));
    bar(
        &mut board,
        at(room.x0, room.y1 + 1.5),
        Run::Across,
        room.width(),
    );
    bar(
        &mut board,
        at(room.x0 - 2.5, room.y0),
        Run::Up,
        room.height(),
    );
    for p in put {
        card(&mut board, p);
    }
    Page {
        paper: size,
        name: format!("{}, sheet {n} of {of}", words.title),
        items: board.into_items(),
    }
}

fn head(board: &mut Board<Sheet>, room: Rect, words: &Words, (n, of): (usize, usize)) {
    let x = room.x0 - SIDE_MM;
    let wide = room.x1 - x;
    let mut y = room.y1 + HEAD_MM - Style::HEADING.cap_mm();
    board.text(
        at(x, y),
        &words.title,
        Style::HEADING,
        Side::Start,
        Run::Across,
    );
    board.text(
        at(room.x1, y),
        &format!("sheet {n} of {of}"),
        Style::NOTE,
        Side::End,
        Run::Across,
    );
    y -= 1.2;
    for line in Style::NOTE.wrap(&words.how.join(" "), wide).iter().take(3) {
        y -= Style::NOTE.pitch_mm();
        board.text(at(x, y), line, Style::NOTE, Side::Start, Run::Across);
    }
}

/// A check bar of whole fifties, with what it measures beside it.
fn bar(board: &mut Board<Sheet>, from: Point2<Sheet>, run: Run, room: f64) {
    let length = bar_length(room);
    let place = |along: f64, off: f64| match run {
        Run::Across => at(from.x_mm() + along, from.y_mm() + off),
        Run::Up => at(from.x_mm() - off, from.y_mm() + along),
    };
    board
        .lines(Meaning::Bar, &[place(0.0, 0.0), place(length, 0.0)])
        .named(match run {
            Run::Across => "check bar across",
            Run::Up => "check bar up",
        });
    let mut along = 0.0;
    while along < length + TICK_MM / 2.0 {
        let ends = along < 1.0 || along > length - 1.0;
        let tick = if ends { 3.4 } else { 1.4 };
        board.lines(Meaning::Bar, &[place(along, 0.0), place(along, tick)]);
        along += TICK_MM;
    }
    board.text(
        place(length / 2.0, 2.2),
        &format!("{length:.0} mm: measure before use"),
        Style::FIELD,
        Side::Middle,
        run,
    );
}

fn card(board: &mut Board<Sheet>, p: &Put) {
    let half = p.card.long_mm / 2.0;
    let fall = p.card.fall_mm(half);
    let spot = |x: f64, y: f64| Spot::new(um(p.x + x), um(p.y + y));
    let (left, right) = (spot(-half, -fall), spot(half, -fall));
    let segments = vec![
        Segment::Arc {
            via: spot(0.0, 0.0),
            to: right,
        },
        Segment::Line {
            to: spot(half, BAND_MM - fall),
        },
        Segment::Arc {
            via: spot(0.0, BAND_MM),
            to: spot(-half, BAND_MM - fall),
        },
        Segment::Line { to: left },
    ];
    let contour = Contour {
        start: left,
        segments,
        closed: true,
    };
    board.push(Meaning::Cut, Shape::Line(vec![contour]));
    board.named(format!("card {}", p.card.number));
    let mut say = |y: f64, text: &str, style: Style| {
        board.text(at(p.x, p.y + y), text, style, Side::Middle, Run::Across);
    };
    let wide = p.card.long_mm > 90.0;
    let (bulge, hollow) = if wide {
        ("this edge on a bulge", "this edge in a hollow")
    } else {
        ("on a bulge", "in a hollow")
    };
    say(2.6, bulge, Style::FIELD);
    say(
        7.6,
        &format!("R {}", mm_words(p.card.radius_mm)),
        Style::NOTE,
    );
    say(13.4, &p.card.number.to_string(), Style::NAME);
    say(BAND_MM - 5.2, hollow, Style::FIELD);
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Radius of the circle through three places (R = abc/4·area), mm.
    fn through(a: Spot, b: Spot, c: Spot) -> f64 {
        let p = |s: Spot| (f64::from(s.x) / 1000.0, f64::from(s.y) / 1000.0);
        let (a, b, c) = (p(a), p(b), p(c));
        let side = |p: (f64, f64), q: (f64, f64)| libm::hypot(p.0 - q.0, p.1 - q.1);
        let area = (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
        side(a, b) * side(b, c) * side(c, a) / (2.0 * area.abs())
    }

    fn cards_on(drawing: &Drawing) -> Vec<(i64, f64, f64)> {
        let mut found = Vec::new();
        for item in drawing.pages.iter().flat_map(|p| &p.items) {
            let (Meaning::Cut, Shape::Line(contours), Some(label)) =
                (item.meaning, &item.shape, &item.label)
            else {
                continue;
            };
            let number: i64 = label.trim_start_matches("card ").parse().unwrap();
            let c = contours.first().unwrap();
            let arcs: Vec<f64> = core::iter::once(c.start)
                .chain(c.segments.iter().map(|s| s.to()))
                .zip(&c.segments)
                .filter_map(|(from, s)| match *s {
                    Segment::Arc { via, to } => Some(through(from, via, to)),
                    _ => None,
                })
                .collect();
            found.push((number, arcs[0], arcs[1]));
        }
        found
    }

    #[test]
    fn every_card_is_there_once_at_its_radius_on_every_paper() {
        for paper in [Paper::A4, Paper::A3, Paper::Letter, Paper::Tabloid] {
            let drawing = gauge_cards(CardSet::All, paper).unwrap();
            let cards = cards_on(&drawing);
            assert_eq!(
                cards.iter().map(|c| c.0).collect::<Vec<_>>(),
                (1..=61).collect::<Vec<_>>()
            );
            for (number, lower, upper) in cards {
                let wanted = gauge_card::radius(number).unwrap().mm();
                // Whole µm of a 3.6 mm sagitta leave 0.03 % of the flattest card.
                assert!((lower / wanted - 1.0).abs() < 5e-4, "{number}: {lower}");
                assert!((upper / wanted - 1.0).abs() < 5e-4, "{number}: {upper}");
            }
        }
    }

    #[test]
    fn cards_keep_apart_and_on_the_page() {
        for paper in [Paper::A4, Paper::Letter, Paper::A3] {
            let upright = paper.upright().unwrap();
            let size = PaperSize {
                width: upright.height,
                height: upright.width,
            };
            let cards: Vec<Card> = CardSet::All
                .numbers()
                .into_iter()
                .map(|number| Card {
                    number,
                    radius_mm: gauge_card::radius(number).unwrap().mm(),
                    long_mm: gauge_card::long(number).unwrap().mm(),
                })
                .collect();
            let room = room(size);
            for page in nested(&cards, room).unwrap() {
                for p in &page {
                    let half = p.card.long_mm / 2.0;
                    assert!(p.x - half >= room.x0 - 1e-9 && p.x + half <= room.x1 + 1e-9);
                    assert!(p.y - p.card.fall_mm(half) >= room.y0 - 1e-9);
                    assert!(p.y + BAND_MM <= room.y1 + 1e-9);
                    for q in page.iter().filter(|q| q.card.number > p.card.number) {
                        // Over the width both have, the upper card's lower edge clears the other.
                        let mut x = (p.x - half).max(q.x - q.card.long_mm / 2.0);
                        while x <= (p.x + half).min(q.x + q.card.long_mm / 2.0) {
                            let top = p.y + BAND_MM - p.card.fall_mm(x - p.x);
                            let foot = q.y - q.card.fall_mm(x - q.x);
                            assert!(foot - top > APART_MM - 1e-9, "{}", q.card.number);
                            x += 1.0;
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn the_sets_meet() {
        assert_eq!(CardSet::EveryFourth.numbers().len(), 16);
        assert_eq!(
            CardSet::Around { number: 33 }.numbers(),
            (30..=36).collect::<Vec<_>>()
        );
        assert_eq!(
            CardSet::Around { number: 1 }.numbers(),
            (1..=4).collect::<Vec<_>>()
        );
        let small = Paper::Typed {
            width: Length::from_mm(120.0),
            height: Length::from_mm(160.0),
        };
        assert!(gauge_cards(CardSet::EveryFourth, small).is_err());
    }
}
