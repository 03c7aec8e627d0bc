//! Photographs of flat sheets, made with a pinhole camera: ray by ray, by no formula that the
//! reader uses.

use std::io::Cursor;
use std::path::Path;
use std::process::Command;

/// A sheet as brightness, rows from the top.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Points across.
    pub wide: usize,
    /// Points up.
    pub high: usize,
    /// Brightness, 0 to 255.
    pub points: Vec<u8>,
    /// Points to a millimetre.
    pub per_mm: f64,
}

impl Sheet {
    /// The first page of a PDF as poppler renders it, ten points to a millimetre; nothing where
    /// poppler is not there.
    #[must_use]
    pub fn of_pdf(file: &Path) -> Option<Self> {
        let stem = file.with_extension("");
        let ran = Command::new("pdftoppm")
            .args(["-r", "254", "-gray", "-png", "-singlefile"])
            .arg(file)
            .arg(&stem)
            .status();
        if ran.is_err() {
            println!("skipped: pdftoppm is not here");
            return None;
        }
        let picture = image::open(stem.with_extension("png")).ok()?.into_luma8();
        Some(Self {
            wide: picture.width() as usize,
            high: picture.height() as usize,
            points: picture.into_raw(),
            per_mm: 10.0,
        })
    }

    fn size_mm(&self) -> (f64, f64) {
        (
            self.wide as f64 / self.per_mm,
            self.high as f64 / self.per_mm,
        )
    }

    /// Brightness at a place, mm from the lower left corner; a grey table around.
    fn at(&self, x: f64, y: f64) -> f64 {
        let (_, high) = self.size_mm();
        let (px, py) = (x * self.per_mm - 0.5, (high - y) * self.per_mm - 0.5);
        let (w, h) = (self.wide as f64, self.high as f64);
        if !(px > -0.5 && py > -0.5 && px < w - 0.5 && py < h - 0.5) {
            return 110.0;
        }
        let (fx, fy) = (px.floor().max(0.0), py.floor().max(0.0));
        let v = |i: f64, j: f64| {
            let (i, j) = (i.min(w - 1.0) as usize, j.min(h - 1.0) as usize);
            f64::from(self.points.get(j * self.wide + i).copied().unwrap_or(255))
        };
        let (tx, ty) = ((px - fx).max(0.0), (py - fy).max(0.0));
        (v(fx, fy) * (1.0 - tx) + v(fx + 1.0, fy) * tx) * (1.0 - ty)
            + (v(fx, fy + 1.0) * (1.0 - tx) + v(fx + 1.0, fy + 1.0) * tx) * ty
    }

    /// Draws with a pen: `ink` says how much of a place (mm from the lower left) is covered.
    pub fn draw(&mut self, ink: impl Fn(f64, f64) -> f64) {
        let (_, high) = self.size_mm();
        for j in 0..self.high {
            for i in 0..self.wide {
                let x = (i as f64 + 0.5) / self.per_mm;
                let y = high - (j as f64 + 0.5) / self.per_mm;
                let covered = ink(x, y).clamp(0.0, 1.0);
                if let Some(p) = self.points.get_mut(j * self.wide + i) {
                    *p = (f64::from(*p) * (1.0 - covered) + 45.0 * covered) as u8;
                }
            }
        }
    }
}

/// How much of a line of a width is covered at a distance from its middle, blurred by a tenth of a
/// millimetre.
#[must_use]
pub fn pen(distance: f64, width: f64) -> f64 {
    (width / 2.0 - distance.abs()) / 0.1 + 0.5
}

/// A camera and its light.
#[derive(Debug, Clone, Copy)]
pub struct Camera {
    /// Points across and down.
    pub size: (usize, usize),
    /// Focal length, points.
    pub focal: f64,
    /// From the sheet's middle, mm.
    pub away: f64,
    /// Tilted back, turned aside, rolled, degrees.
    pub turned: [f64; 3],
    /// How a lens bends: share of the angle's square (0: not at all).
    pub bends: f64,
    /// How much darker the right side of the picture is (0 to 1).
    pub shade: f64,
    /// Noise, either way at most.
    pub noise: f64,
    /// Seen from behind the film.
    pub behind: bool,
}

impl Camera {
    /// A phone held about square over a sheet.
    #[must_use]
    pub const fn held() -> Self {
        Self {
            size: (1500, 2000),
            focal: 2900.0,
            away: 470.0,
            turned: [0.0, 0.0, 0.0],
            bends: 0.0,
            shade: 0.0,
            noise: 3.0,
            behind: false,
        }
    }

    /// The photograph as a PNG file.
    #[must_use]
    pub fn png(&self, sheet: &Sheet) -> Vec<u8> {
        let size = |n: usize| u32::try_from(n).unwrap_or_default();
        let (w, h) = (size(self.size.0), size(self.size.1));
        let mut bytes = Vec::new();
        if let Some(picture) = image::GrayImage::from_raw(w, h, self.takes(sheet)) {
            let _ = picture.write_to(&mut Cursor::new(&mut bytes), image::ImageFormat::Png);
        }
        bytes
    }

    /// The photograph, rows from the top.
    #[must_use]
    pub fn takes(&self, sheet: &Sheet) -> Vec<u8> {
        let [a, b, c] = self.turned.map(f64::to_radians);
        // Rolled, then turned aside, then tilted back.
        let turn = |(x, y, z): (f64, f64, f64)| {
            let (x, y) = (x * c.cos() - y * c.sin(), x * c.sin() + y * c.cos());
            let (x, z) = (x * b.cos() + z * b.sin(), z * b.cos() - x * b.sin());
            let (y, z) = (y * a.cos() - z * a.sin(), y * a.sin() + z * a.cos());
            (x, y, z)
        };
        let dot = |p: (f64, f64, f64), q: (f64, f64, f64)| p.0 * q.0 + p.1 * q.1 + p.2 * q.2;
        let (right, down, face) = (
            turn((1.0, 0.0, 0.0)),
            turn((0.0, 1.0, 0.0)),
            turn((0.0, 0.0, 1.0)),
        );
        let (wide, high) = sheet.size_mm();
        let middle = (0.0, 0.0, self.away);
        let (w, h) = (self.size.0 as f64, self.size.1 as f64);
        let mut seed = 12_345_u32;
        let mut out = Vec::with_capacity(self.size.0 * self.size.1);
        for j in 0..self.size.1 {
            for i in 0..self.size.0 {
                let mut sum = 0.0;
                for (di, dj) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                    let (x, y) = (
                        (i as f64 + di - w / 2.0) / self.focal,
                        (j as f64 + dj - h / 2.0) / self.focal,
                    );
                    let bent = 1.0 + self.bends * (x * x + y * y);
                    let ray = (x * bent, y * bent, 1.0);
                    let t = dot(face, middle) / dot(face, ray);
                    let at = (ray.0 * t, ray.1 * t, ray.2 * t - self.away);
                    let (u, v) = (dot(at, right), dot(at, down));
                    let u = if self.behind { -u } else { u };
                    sum += sheet.at(wide / 2.0 + u, high / 2.0 - v) / 4.0;
                }
                // A linear congruential sequence (Knuth, TAOCP 3.3.4).
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let noise = (f64::from(seed >> 8) / f64::from(1_u32 << 23) - 1.0) * self.noise;
                let light = 1.0 - self.shade * i as f64 / w;
                out.push((sum * light * 0.92 + noise).clamp(0.0, 255.0) as u8);
            }
        }
        out
    }
}
