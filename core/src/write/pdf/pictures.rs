//! Pictures in a file: each is written once, named by what it is, as letters are.

use super::content::numbers;
use crate::sheet::Greys;
use crate::sheet::drawing::Spot;
use pdf_writer::types::Predictor;
use pdf_writer::{Filter, Finish, Pdf, Ref};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// A picture as a file holds it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Kept {
    /// `I` and the first bytes of its hash: no letter's name is as long.
    pub(super) name: String,
    wide: i32,
    high: i32,
    #[serde(skip)]
    packed: Vec<u8>,
}

impl Kept {
    pub(super) const fn packed(&mut self) -> &mut Vec<u8> {
        &mut self.packed
    }

    pub(super) fn of(picture: &Greys) -> Self {
        let side = |n: u32| i32::try_from(n).unwrap_or(i32::MAX);
        let mut hash = Sha256::new();
        hash.update(picture.wide.to_le_bytes());
        hash.update(picture.points.all());
        let hash: [u8; 32] = hash.finalize().into();
        let digits = hash.iter().take(12).map(|b| format!("{b:02x}"));
        Self {
            name: format!("I{}", digits.collect::<String>()),
            wide: side(picture.wide),
            high: side(picture.high()),
            packed: crate::write::png::packed(picture),
        }
    }

    /// The object in the file.
    pub(super) fn write(&self, file: &mut Pdf, id: Ref) {
        let mut image = file.image_xobject(id, &self.packed);
        image.filter(Filter::FlateDecode);
        image.width(self.wide).height(self.high);
        image.color_space().device_gray();
        image.bits_per_component(8);
        image
            .decode_parms()
            .predictor(Predictor::PngUp)
            .colors(1)
            .bits_per_component(8)
            .columns(self.wide);
        image.finish();
    }
}

/// Draws it where it stands: the unit square is the whole of it (ISO 32000-1, 8.9.5.1).
pub(super) fn draw(out: &mut Vec<u8>, picture: &Greys, name: &str) {
    let (low, top) = (picture.low, picture.top());
    let size = Spot::new(top.x.saturating_sub(low.x), top.y.saturating_sub(low.y));
    out.extend_from_slice(b"q\n");
    numbers(out, &[size.x, 0, 0, size.y, low.x, low.y], "cm");
    out.extend_from_slice(format!("/{name} Do\nQ\n").as_bytes());
}
