//! Scans: surface meshes from STL, OBJ, PLY and 3MF, told by what is in them, never by their name.
//!
//! ```text
//!     bytes ──stl, obj, ply, threemf──▶ triangles ──weld──▶ Mesh ──look──▶ what is to be said of it
//!                                                            │
//!                         marks picked (bvh, view) ──────────┴──fit──▶ surface::scan::Patch
//! ```
//! A reader allocates what its file can hold, never what it says it holds.

mod bent;
pub mod bvh;
pub mod fit;
mod grid;
mod look;
mod obj;
mod ply;
mod polygon;
mod stl;
mod text;
mod threemf;
pub mod view;
mod weld;

pub use look::Look;

/// The most triangles taken: with all that is made from them they fill some 600 MB, what a tablet's
/// browser gives a page.
pub const MOST_TRIANGLES: usize = 4_000_000;

/// A surface of triangles, corners that are the same point joined, in the file's own unit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mesh {
    /// Corners.
    pub points: Vec<[f64; 3]>,
    /// Three corners each, anticlockwise seen from outside where the file was wound rightly.
    pub triangles: Vec<[u32; 3]>,
}

/// What a file's numbers are in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScanUnit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Inches.
    Inch,
    /// Metres.
    M,
}

impl ScanUnit {
    /// Every one, smallest first.
    pub const ALL: [Self; 4] = [Self::Mm, Self::Cm, Self::Inch, Self::M];
    /// Its short name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::Inch => "inch",
            Self::M => "m",
        }
    }
    /// By its short name.
    #[must_use]
    pub fn of_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|u| u.name() == name)
    }
    /// One of it in mm.
    #[must_use]
    pub const fn mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::Inch => 25.4,
            Self::M => 1000.0,
        }
    }
}

/// A coordinate beyond this is damage: in any unit it is farther than the workshop.
const FARTHEST: f64 = 1e9;

/// Whether it is a place: NaN and infinity are none.
fn is_place(p: &[f64; 3]) -> bool {
    p.iter().all(|x| x.abs() <= FARTHEST)
}

/// Triangles as a file has them.
#[derive(Debug, Default)]
struct Soup {
    /// Corners of a file that gives each triangle its own: joined as they are read.
    joined: weld::Corners,
    /// Corners of a file that lists them.
    points: Vec<[f64; 3]>,
    triangles: Vec<[u32; 3]>,
    /// Triangles with a corner that is no number.
    not_numbers: usize,
    /// Triangles that were found to have no width while they were read.
    no_width: usize,
    unit: Option<ScanUnit>,
    notes: Vec<String>,
}

/// What came of reading a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// The surface.
    pub mesh: Mesh,
    /// What kind of file it was: *STL*, …
    pub kind: &'static str,
    /// The unit, where the file says one.
    pub unit: Option<ScanUnit>,
    /// What was found of it.
    pub look: Look,
    /// What was left out or changed, in words.
    pub notes: Vec<String>,
}

/// Why a file is not read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeshError {
    /// Something else.
    #[error("this is {looks}, not a scan: bring an STL, OBJ, PLY or 3MF file")]
    NotAScan {
        /// What it looks like.
        looks: &'static str,
    },
    /// No triangles.
    #[error("there is no surface in this file")]
    Empty,
    /// Shorter than it says.
    #[error(
        "the file stops inside triangle {triangle} of {of}: it was not copied whole. Copy or export it again"
    )]
    Stops {
        /// The triangle it stops in, from one.
        triangle: usize,
        /// How many it says there are.
        of: usize,
    },
    /// A count that its length contradicts.
    #[error(
        "the file says it has {says} {what}, more than its {bytes} bytes can hold: it is damaged. Export it again"
    )]
    Count {
        /// The count.
        says: u64,
        /// Of what.
        what: &'static str,
        /// Length of the file.
        bytes: usize,
    },
    /// More than is taken.
    #[error(
        "it has {count} triangles, more than the {MOST_TRIANGLES} that a tablet can hold: export it with fewer (1 mm edges are plenty), or only the part around the marks"
    )]
    TooMany {
        /// How many, or at least how many.
        count: u64,
    },
    /// A line that can't be read.
    #[error("line {line}: {why}")]
    Line {
        /// Counted from one.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// Decimal commas.
    #[error(
        "line {line}: numbers are written with decimal commas ({number}): export it again with decimal points"
    )]
    DecimalComma {
        /// Counted from one.
        line: usize,
        /// The number.
        number: String,
    },
    /// A head that can't be read.
    #[error("its head can't be read: {why}")]
    Head {
        /// What is wrong.
        why: String,
    },
    /// Something inside a 3MF package.
    #[error("this 3MF file can't be read: {why}")]
    Package {
        /// What is wrong.
        why: String,
    },
}

/// Reads a scan.
///
/// # Errors
/// [`MeshError`], which says where and what to do.
pub fn read(bytes: &[u8]) -> Result<Scan, MeshError> {
    read_telling(bytes, &mut |_| {})
}

/// How far reading a scan has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// The file is being taken apart.
    Opened {
        /// How large it is.
        bytes: usize,
    },
    /// Its triangles are there; corners that are the same point are being joined.
    Triangles {
        /// How many.
        count: usize,
    },
    /// What is open, doubled or inside out is being looked for.
    Joined {
        /// How many corners are left.
        corners: usize,
    },
}

/// Reads a scan, telling how far it has come before each part of the work.
///
/// # Errors
/// As [`read`].
pub fn read_telling(bytes: &[u8], tell: &mut dyn FnMut(Reached)) -> Result<Scan, MeshError> {
    tell(Reached::Opened { bytes: bytes.len() });
    let (kind, soup) = match what(bytes)? {
        Kind::StlBinary => ("STL", stl::binary(bytes)?),
        Kind::StlText => ("STL", stl::text(bytes)?),
        Kind::Obj => ("OBJ", obj::read(bytes)?),
        Kind::Ply => ("PLY", ply::read(bytes)?),
        Kind::Package => ("3MF", threemf::read(bytes)?),
    };
    if soup.triangles.is_empty() {
        return Err(MeshError::Empty);
    }
    let unit = soup.unit;
    let count = soup.triangles.len();
    tell(Reached::Triangles { count });
    let (mut mesh, mut notes) = weld::welded(soup);
    if mesh.triangles.is_empty() {
        return Err(MeshError::Empty);
    }
    let corners = mesh.points.len();
    tell(Reached::Joined { corners });
    let twice = weld::without_doubles(&mut mesh.triangles);
    notes.extend(weld::left_out(twice, "listed twice"));
    let look = look::look(&mesh);
    notes.extend(look.words());
    Ok(Scan {
        mesh,
        kind,
        unit,
        look,
        notes,
    })
}

#[derive(Debug, Clone, Copy)]
enum Kind {
    StlBinary,
    StlText,
    Obj,
    Ply,
    Package,
}

/// Told by structure: a binary STL may well begin with the word *solid*.
fn what(bytes: &[u8]) -> Result<Kind, MeshError> {
    let other = |looks| Err(MeshError::NotAScan { looks });
    let start = text::start(bytes);
    let begins = |word: &[u8]| {
        start
            .get(..word.len())
            .is_some_and(|s| s.eq_ignore_ascii_case(word))
    };
    if bytes.is_empty() {
        return Err(MeshError::Empty);
    }
    if let Some(says) = stl::count(bytes)
        && bytes.len() as u64 == 84 + 50 * u64::from(says)
    {
        return if says == 0 {
            Err(MeshError::Empty)
        } else {
            Ok(Kind::StlBinary)
        };
    }
    if begins(b"PK\x03\x04") || begins(b"PK\x05\x06") {
        return Ok(Kind::Package);
    }
    if begins(b"ply") {
        return Ok(Kind::Ply);
    }
    for (magic, looks) in [
        (&b"\x89PNG"[..], "a picture (PNG)"),
        (b"\xff\xd8\xff", "a picture (JPEG)"),
        (b"%PDF", "a PDF"),
        (b"<!doctype", "a web page"),
        (b"<html", "a web page"),
        (b"<svg", "a drawing (SVG)"),
        (b"<?xml", "an XML file"),
        (b"glTF", "a glTF file"),
    ] {
        if begins(magic) {
            return other(looks);
        }
    }
    let is_text = !bytes.iter().take(4096).any(|&b| b == 0);
    if is_text {
        if begins(b"solid") || begins(b"facet") {
            return Ok(Kind::StlText);
        }
        if obj::looks_like(bytes) {
            return Ok(Kind::Obj);
        }
        return other("a text of another kind");
    }
    if stl::count(bytes).is_some() {
        return Ok(Kind::StlBinary);
    }
    other("a file of another kind")
}
