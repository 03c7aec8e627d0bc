//! The quick template: four cards, tape in hand, and a picture that follows.

mod card;
mod cards;
#[cfg_attr(
    not(feature = "whole"),
    expect(dead_code, reason = "some are shown where a job is set out")
)]
pub(super) mod drawings;
mod file;
mod hand;
mod how_big;
mod live;
mod model;
mod picture;
mod scene;
mod usual;

pub use model::paper;

use crate::screens::press::{Press, Wanted};
use crate::state::session;
use cards::{LiesOn, Marks, Shape, ThisPiece};
use hand::Hand;
use leptos::prelude::*;
use picture::Picture;
use samespot_core::job::QuickIds;
use usual::Usual;

/// The papers that are offered by name.
pub const PAPERS: [(&str, &str); 4] = [
    ("A4", "A4"),
    ("A3", "A3"),
    ("Letter", "Letter"),
    ("Tabloid", "Tabloid"),
];

/// The screen.
#[component]
pub fn Quick() -> impl IntoView {
    let session = session();
    let hand = Hand::take(session);
    let press = Press::new(session);
    // The sheet is made as soon as what is kept says enough for it, so that Print is one tap.
    // Only what is kept counts: the sheet is not laid out at each keystroke.
    Effect::new(move |_| {
        let (book, piece) = (hand.book(), hand.piece.get());
        let paper = hand
            .kept
            .with(|c| c.as_ref().filter(|c| c.ready(piece)).map(|c| c.paper));
        let ids = QuickIds::fixed().ok().zip(QuickIds::piece(piece).ok());
        match (book, ids, paper) {
            (Some(book), Some((ids, (_, piece))), Some(paper)) => {
                let feature = ids.spot;
                press.take(
                    &book,
                    Wanted {
                        feature,
                        piece,
                        paper,
                    },
                );
            }
            _ => press.clear(),
        }
    });
    // Other screens go on with the piece that the cards are about.
    Effect::new(move |_| {
        let piece = QuickIds::piece(hand.piece.get()).ok();
        if let (Some(book), Some((_, piece))) = (hand.book(), piece) {
            session.take_in_hand(book.id(), &piece);
        }
    });
    view! {
        <div class="quick-cards">
            <div class="cards">
                <h1>"Quick template"</h1>
                <Shape hand=hand />
                <LiesOn hand=hand />
                <Marks hand=hand />
                <ThisPiece hand=hand press=press />
                <Usual hand=hand />
            </div>
            <Picture hand=hand />
        </div>
    }
}
