//! The face with its marks, what has been read, and the reading in hand.

use super::beside::{Room, places};
use super::hand::{Hand, Looked};
use crate::say::measure::Fit;
use leptos::prelude::*;
use samespot_core::job::{Measured, PointRef};
use samespot_core::prepare::edge_lines::EdgePicture;
use samespot_core::prepare::walk::{AskState, AskedReading, FacePicture, Walk};

fn face_in_hand<'a>(walk: &'a Walk, ask: Option<&AskedReading>) -> Option<&'a FacePicture> {
    ask.and_then(|a| walk.faces.iter().find(|f| f.face == a.face))
        .or_else(|| walk.faces.last())
}

/// The letters of the reading in hand, as they stand on the picture.
fn letters(ask: &AskedReading) -> Vec<&str> {
    match &ask.of {
        Measured::Straight {
            from: PointRef::Mark(_),
            to: PointRef::Mark(_),
        }
        | Measured::Over {
            from: PointRef::Mark(_),
            to: PointRef::Mark(_),
        } => ask.short.split('–').collect(),
        // *A–B level*: the letters stand first.
        Measured::Level { .. } | Measured::Plumb { .. } => ask
            .short
            .split(' ')
            .next()
            .unwrap_or_default()
            .split('–')
            .collect(),
        _ => Vec::new(),
    }
}

/// The mark and the edge of a square distance.
fn square_of<'a>(ask: &AskedReading, face: &'a FacePicture) -> Option<(String, &'a EdgePicture)> {
    let Measured::Square { edge, to } = &ask.of else {
        return None;
    };
    let edge = face.edges.iter().find(|e| e.edge == *edge)?;
    let letter = match to {
        PointRef::Mark(id) => face.marks.iter().find(|m| m.mark == *id)?.letter.clone(),
        PointRef::Feature(_) => return None,
    };
    Some((letter, edge))
}

/// An edge with its letter, where it is known to run.
fn edge(fit: &Fit, edge: &EdgePicture) -> Option<impl IntoView + use<>> {
    let mut d = String::new();
    for (k, p) in edge.line.iter().enumerate() {
        let [x, y] = fit.at(*p);
        d.push_str(&format!("{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" }));
    }
    let [x, y] = fit.at(*edge.line.last()?);
    Some(view! {
        <path class="edge" d=d />
        <text class="edge-letter" x=format!("{x:.1}") y=format!("{:.1}", y - 7.0)>
            <title>{edge.words.clone()}</title>
            {edge.letter.clone()}
        </text>
    })
}

fn line(from: [f64; 2], to: [f64; 2]) -> String {
    format!("M{:.1} {:.1}L{:.1} {:.1}", from[0], from[1], to[0], to[1])
}

fn middle(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]
}

fn outline(fit: &Fit, points: &[[f64; 2]]) -> String {
    let mut d = String::new();
    for (k, p) in points.iter().enumerate() {
        let [x, y] = fit.at(*p);
        d.push_str(&format!("{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" }));
    }
    d.push('Z');
    d
}

#[component]
pub(super) fn Picture(hand: Hand) -> impl IntoView {
    let shown = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => {
            let ask = hand.ask.get();
            let odd = walk.odd.as_ref().map(|o| o.fact);
            face_in_hand(&walk, ask.as_ref()).map(|f| (f.clone(), ask, odd))
        }
        _ => None,
    });
    move || {
        shown.get().map(|(face, ask, odd)| {
            let fit = Fit::of(&face);
            let place = |letter: &str| {
                face.marks
                    .iter()
                    .find(|m| m.letter == letter)
                    .map(|m| fit.at(m.at))
            };
            let mut hand_letters: Vec<String> = ask
                .as_ref()
                .map(|a| letters(a).into_iter().map(str::to_owned).collect())
                .unwrap_or_default();
            let ends = match hand_letters.as_slice() {
                [a, b] => place(a).zip(place(b)),
                _ => None,
            };
            let finds_edge = ask
                .as_ref()
                .and_then(|a| square_of(a, &face))
                .map(|(letter, edge)| {
                    hand_letters.push(letter);
                    format!("{}: {}", edge.letter, edge.words)
                });
            let hand_number = ask.as_ref().map(|a| a.number);
            let over = ask
                .as_ref()
                .is_some_and(|a| matches!(a.of, Measured::Over { .. }));
            let regions = face
                .marks
                .iter()
                .map(|m| {
                    let [x, y] = fit.at(m.at);
                    let [major, minor, turn] = m.could_be;
                    let large = f64::from(face.magnified);
                    view! {
                        <ellipse
                            class="could-be"
                            class:unread=m.unread
                            cx=x
                            cy=y
                            rx=fit.long(major * large).max(2.0)
                            ry=fit.long(minor * large).max(2.0)
                            transform=format!("rotate({:.1} {x:.1} {y:.1})", -turn.to_degrees())
                        />
                    }
                })
                .collect_view();
            let edges = face
                .edges
                .iter()
                .filter_map(|e| edge(&fit, e))
                .collect_view();
            // A square distance: from its mark to the edge.
            let square = ask.as_ref().and_then(|a| square_of(a, &face));
            let to_edge = square.as_ref().and_then(|(letter, edge)| {
                let mark = face.marks.iter().find(|m| m.letter == *letter)?;
                Some((fit.at(mark.at), fit.at(edge.foot(mark.at)?)))
            });
            let outlines = face
                .outlines
                .iter()
                .map(|o| view! { <path class="dots" d=outline(&fit, o) /> })
                .collect_view();
            // A length read twice keeps one line, with the latest number beside it.
            let lasting: Vec<_> = face
                .lines
                .iter()
                .enumerate()
                .filter(|(k, l)| {
                    #[allow(clippy::float_cmp, reason = "the same mark has the same place")]
                    let same = |o: &samespot_core::prepare::walk::ReadLine| {
                        (o.from == l.from && o.to == l.to) || (o.from == l.to && o.to == l.from)
                    };
                    let last = face.lines.iter().rposition(same) == Some(*k);
                    Some(l.fact) == odd
                        || (last && !face.lines.iter().any(|o| same(o) && Some(o.fact) == odd))
                })
                .map(|(_, l)| (fit.at(l.from), fit.at(l.to), l))
                .collect();
            let stands = face.marks.iter().flat_map(|m| {
                let at = fit.at(m.at);
                [Room::square(at, 11.0), Room::square(fit.letter(&face, m.at), 15.0)]
            });
            let odd_lines = lasting.iter().filter(|(_, _, l)| Some(l.fact) == odd);
            let badges = odd_lines.map(|(a, b, _)| (*a, *b)).chain(ends.or(to_edge));
            let taken: Vec<Room> = stands
                .chain(badges.map(|(a, b)| Room::square(middle(a, b), 17.0)))
                .collect();
            let numbered: Vec<_> = lasting
                .iter()
                .filter(|(_, _, l)| Some(l.fact) != odd)
                .map(|(a, b, l)| (*a, *b, l.typed.clone()))
                .collect();
            let mut beside = places(&numbered, &taken).into_iter();
            let lines = lasting
                .iter()
                .map(|(a, b, l)| {
                    let (a, b) = (*a, *b);
                    let is_odd = Some(l.fact) == odd;
                    let [x, y] = if is_odd { middle(a, b) } else { beside.next().unwrap_or(middle(a, b)) };
                    view! {
                        <path class=if is_odd { "odd-line" } else { "narrow" } d=line(a, b) />
                        {if is_odd {
                            view! {
                                <g class="badge odd">
                                    <rect x=x - 16.0 y=y - 16.0 width="32" height="32" />
                                    <text x=x y=y + 8.0>"?"</text>
                                </g>
                            }
                                .into_any()
                        } else {
                            view! { <text class="figure" x=x y=y>{l.typed.clone()}</text> }
                                .into_any()
                        }}
                    }
                })
                .collect_view();
            let in_hand = ends.or(to_edge).map(|(a, b)| {
                let [x, y] = middle(a, b);
                view! {
                    <path class="under" d=line(a, b) />
                    <path class=if over { "dots wide-dots" } else { "wide" } d=line(a, b) />
                    <g class="badge">
                        <rect x=x - 17.0 y=y - 17.0 width="34" height="34" />
                        <text x=x y=y + 8.0>{hand_number}</text>
                    </g>
                }
            });
            let marks = face
                .marks
                .iter()
                .map(|m| {
                    let [x, y] = fit.at(m.at);
                    let [lx, ly] = fit.letter(&face, m.at);
                    let here = hand_letters.contains(&m.letter);
                    let d = format!(
                        "M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}",
                        x - 11.0, x + 11.0, y - 11.0, y + 11.0
                    );
                    view! {
                        <path class="narrow" d=line([x, y], [lx, ly]) />
                        <path class="wide" d=d />
                        <g class="letter" class:here=here>
                            <title>{format!("{}: {}", m.letter, m.found)}</title>
                            <rect x=lx - 15.0 y=ly - 15.0 width="30" height="30" />
                            <text x=lx y=ly + 7.0>{m.letter.clone()}</text>
                        </g>
                    }
                })
                .collect_view();
            let finds: Vec<String> = face
                .marks
                .iter()
                .filter(|m| hand_letters.contains(&m.letter) && !m.found.is_empty())
                .map(|m| format!("{}: {}", m.letter, m.found))
                .chain(finds_edge)
                .collect();
            let seen = face.seen_from.clone().map(|s| format!(", seen {s}"));
            let note = if face.magnified == 1 {
                "Ovals: each mark could be anywhere in here, at the drawing’s own scale".to_owned()
            } else {
                format!(
                    "Ovals: each mark could be anywhere in here, drawn {} ×",
                    face.magnified
                )
            };
            view! {
                <div class="face-head">
                    <h2>{face.name.clone()} <span class="second">{seen}</span></h2>
                    <p class="second">{note}</p>
                </div>
                <svg
                    class="face"
                    viewBox="0 0 560 430"
                    role="img"
                    aria-label=format!("{}: its marks, what was read, and the reading in hand", face.name)
                >
                    {edges} {outlines} {regions} {lines} {in_hand} {marks}
                </svg>
                <p class="second finds">{finds.join(" · ")}</p>
                {face.trouble.clone().map(|t| view! { <p class="trouble">{t}</p> })}
            }
        })
    }
}

/// The readings of the walk, in a strip: each can be chosen.
#[component]
pub(super) fn Strip(hand: Hand) -> impl IntoView {
    let asks = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk.asks.clone(),
        _ => Vec::new(),
    });
    let here = move |number: u32| {
        hand.ask
            .with(|a| a.as_ref().is_some_and(|a| a.number == number))
    };
    view! {
        <ol class="asks" aria-label="Readings of this walk">
            {move || {
                asks.get()
                    .into_iter()
                    .map(|ask| {
                        let number = ask.number;
                        let value = match &ask.state {
                            AskState::Read { typed, .. } | AskState::OddOne { typed, .. } => typed.clone(),
                            other => crate::say::measure::stands(other).to_owned(),
                        };
                        let spoken = format!(
                            "{number}, {}: {}",
                            ask.title,
                            match &ask.state {
                                AskState::Read { typed, .. } => format!("read {typed}"),
                                AskState::OddOne { typed, .. } => format!("odd one out, read {typed}"),
                                AskState::CannotReach { lost, .. } => format!("can’t reach. {lost}"),
                                AskState::Gone { why } => why.clone(),
                                AskState::ToRead => "to read".to_owned(),
                            },
                        );
                        view! {
                            <li>
                                <button
                                    type="button"
                                    class:here=move || here(number)
                                    class:odd=matches!(ask.state, AskState::OddOne { .. })
                                    class:read=matches!(ask.state, AskState::Read { .. })
                                    class:out=matches!(ask.state, AskState::CannotReach { .. } | AskState::Gone { .. })
                                    aria-current=move || here(number).then_some("step")
                                    aria-label=spoken
                                    on:click=move |_| hand.choose(number)
                                >
                                    <span class="figure">{number}</span>
                                    <span class="what">
                                        <b>{ask.short.clone()}</b>
                                        <i>{value}</i>
                                    </span>
                                </button>
                            </li>
                        }
                    })
                    .collect_view()
            }}
        </ol>
    }
}
