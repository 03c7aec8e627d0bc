//! Pictures on known places, damaged: what was tapped, and the picture itself.

use super::readers::worded;
use samespot_core::answer::{FileKind, PictureSheet, picture_sheet};
use samespot_core::read::marked_picture::{KnownPlace, MarkedPicture, OfPicture, Tap};
use samespot_core::read::photo::on_places;
use samespot_core::sheet::Paper;
use samespot_core::units::Length;

/// Four places of a picture of 3 : 4, the fourth a little askew, and an outline between them.
fn marked() -> MarkedPicture {
    let tap = |at| Tap { at, within: 2.0 };
    let known = [
        ("A", [0.0, 240.0], [100.0, 100.0]),
        ("B", [180.0, 240.0], [900.0, 100.0]),
        ("C", [180.0, 0.0], [900.0, 1200.0]),
        ("D", [0.0, 0.0], [110.0, 1190.0]),
    ];
    MarkedPicture {
        high: 4000.0 / 3.0,
        known: known
            .into_iter()
            .map(|(name, at_mm, at)| KnownPlace {
                name: format!("mark {name}"),
                at_mm,
                within_mm: 0.8,
                tap: tap(at),
            })
            .collect(),
        fifth_needed: false,
        square_on: false,
        line: [
            [300.0, 300.0],
            [600.0, 320.0],
            [580.0, 700.0],
            [320.0, 650.0],
        ]
        .map(tap)
        .to_vec(),
        smooth: true,
    }
}

/// What was tapped, as the page hands it over.
pub(super) fn tapped() -> Vec<Vec<u8>> {
    let mut cross = marked();
    cross.line.truncate(1);
    let mut square = marked();
    square.square_on = true;
    square.known.truncate(3);
    [marked(), cross, square]
        .iter()
        .filter_map(|m| serde_json::to_vec(m).ok())
        .collect()
}

pub(super) fn read_tapped(bytes: &[u8]) -> Result<(), String> {
    let text = core::str::from_utf8(bytes).map_err(|why| worded(&why))?;
    let picture: MarkedPicture = samespot_core::json::read(text).map_err(|why| worded(&why))?;
    let (came, outline) = on_places(&picture).map_err(|why| worded(&why))?;
    let [x, y] = came.middle_mm;
    for number in [x, y, came.middle_within, came.across, came.up, came.within] {
        assert!(number.is_finite(), "{came:?}");
    }
    let places = outline.polylines(Length::from_mm(0.1));
    assert!(
        places
            .iter()
            .flatten()
            .all(|p| p.x_mm().is_finite() && p.y_mm().is_finite()),
        "a place that is no number"
    );
    Ok(())
}

/// The picture printed at full size.
pub(super) fn read_sheet(bytes: &[u8]) -> Result<(), String> {
    let mut places = marked();
    places.line.clear();
    let ask = PictureSheet {
        places,
        every: Length::from_mm(50.0),
        paper: Paper::A4,
        of: OfPicture::default(),
        file: Some(FileKind::Pdf),
    };
    let (_, file) = picture_sheet(bytes, &ask).map_err(|why| worded(&why))?;
    assert!(file.starts_with(b"%PDF"), "no PDF came of it");
    Ok(())
}
