//! The readers, each with good inputs to damage and with what must hold of whatever it makes of them.

#[cfg(feature = "artwork")]
use super::pictured;
use super::{Chance, attached, damaged, fields};
use crate::jobs::Script;
use crate::meshes::cube;
use samespot_core::job::{FaceShape, Job};
use samespot_core::prepare::history::{HistoryAsk, history};
use samespot_core::prepare::spreadsheet::read_sheet;
use samespot_core::read::{job, mesh, table};
use samespot_core::write::job::{job_file, job_json};
use samespot_core::write::zip::{Entry, zip_folder};
use std::path::PathBuf;

/// A reader under test.
pub struct Reader {
    /// Its name: the folder of its corpus.
    pub name: &'static str,
    /// Reads, and works with what came of it; the words it refused with, where it did.
    ///
    /// Panics where something is wrong: that is what is looked for.
    pub read: fn(&[u8]) -> Result<(), String>,
    /// Damages a good input.
    pub damaged: fn(&[u8], &mut Chance) -> Vec<u8>,
}

/// Every reader that this build has.
#[must_use]
pub fn all() -> Vec<Reader> {
    let mut all = pictures();
    all.extend([
        Reader {
            name: "job",
            read: read_job,
            damaged,
        },
        Reader {
            name: "table",
            read: read_table,
            damaged,
        },
        Reader {
            name: "mesh",
            read: read_mesh,
            damaged,
        },
        Reader {
            name: "package",
            read: read_package,
            damaged,
        },
        Reader {
            name: "field",
            read: fields::read_field,
            damaged,
        },
        Reader {
            name: "outline",
            read: attached::read_outline,
            damaged,
        },
        Reader {
            name: "patch",
            read: attached::read_patch,
            damaged,
        },
    ]);
    all
}

#[cfg(not(feature = "artwork"))]
fn pictures() -> Vec<Reader> {
    Vec::new()
}

#[cfg(feature = "artwork")]
fn pictures() -> Vec<Reader> {
    vec![
        Reader {
            name: "artwork",
            read: drawn::read_artwork,
            damaged,
        },
        Reader {
            name: "photo",
            read: drawn::read_photo,
            damaged: drawn::marred,
        },
        Reader {
            name: "tapped",
            read: pictured::read_tapped,
            damaged,
        },
        Reader {
            name: "sheet",
            read: pictured::read_sheet,
            damaged: drawn::marred,
        },
    ]
}

fn corpora() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("corpora")
}

impl Reader {
    /// The folder of inputs that once were trouble, and of good ones to damage.
    #[must_use]
    pub fn folder(&self) -> PathBuf {
        // Both take photographs.
        corpora().join(if self.name == "sheet" {
            "photo"
        } else {
            self.name
        })
    }

    /// Inputs kept in its folder, by name.
    #[must_use]
    pub fn kept(&self) -> Vec<(String, Vec<u8>)> {
        let mut kept: Vec<(String, Vec<u8>)> = std::fs::read_dir(self.folder())
            .into_iter()
            .flatten()
            .filter_map(|entry| {
                let path = entry.ok()?.path();
                let name = path.file_name()?.to_string_lossy().into_owned();
                Some((name, std::fs::read(&path).ok()?))
            })
            .collect();
        kept.sort();
        kept
    }

    /// Good inputs, those in its folder with them.
    #[must_use]
    pub fn seeds(&self) -> Vec<Vec<u8>> {
        let mut seeds = match self.name {
            "job" => jobs(),
            "table" => tables(),
            "mesh" => meshes(),
            "package" => packages(),
            "field" => fields::typed(),
            "outline" => attached::outlines(),
            "patch" => attached::patches(),
            #[cfg(feature = "artwork")]
            "tapped" => pictured::tapped(),
            _ => Vec::new(),
        };
        // What was found is none: every finding would make every number another input.
        let good = |name: &str| !name.starts_with("found-");
        let kept = self.kept().into_iter().filter(|(name, _)| good(name));
        seeds.extend(kept.map(|(_, bytes)| bytes));
        seeds
    }
}

fn small() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 2);
    s.over("pattern", "a", "b", 300.0);
    s.over("c1", "a", "b", 297.0);
    s.attachments.insert(
        samespot_core::write::job::attachment_hash(b"a picture"),
        b"a picture".to_vec(),
    );
    s
}

fn jobs() -> Vec<Vec<u8>> {
    let s = small();
    let json = job_json(&s.ledger).map(|j| j.into_bytes());
    let zip = job_file(&s.ledger, &s.attachments);
    json.into_iter().chain(zip).collect()
}

fn tables() -> Vec<Vec<u8>> {
    let texts = [
        "piece,A–B,A to C\n1,120,100.5\n2,121,101\n",
        "piece;A–B;\"A to C\"\r\n1;120,5;\"100,25\"\r\n2;;101\r\n",
        "casting\tfrom\tto\tmm\nc1\ta\tb\t297\nc2\ta\tb\t1/2\"\n",
        "Run of 2026\n\npiece,A–B\n(mm),(mm)\n07,3' 11 3/8\"\n7,120\n",
        "\u{feff}name,value\n=A1+2,#REF!\n'-12,1.25E+02\n",
    ];
    texts.iter().map(|t| t.as_bytes().to_vec()).collect()
}

fn meshes() -> Vec<Vec<u8>> {
    let cube = cube(100.0);
    vec![
        cube.stl(),
        cube.stl_text().into_bytes(),
        cube.obj().into_bytes(),
        cube.ply("ascii"),
        cube.ply("binary_little_endian"),
        cube.ply("binary_big_endian"),
    ]
}

/// A 3MF package, and the model in one: by itself it is packed before it is read, because damage to the
/// package seldom comes as far as the model.
fn packages() -> Vec<Vec<u8>> {
    let model = cube(100.0).model().into_bytes();
    packed(&model).into_iter().chain([model]).collect()
}

fn packed(model: &[u8]) -> Option<Vec<u8>> {
    zip_folder(&[Entry {
        path: "3D/3dmodel.model",
        bytes: model,
    }])
    .ok()
}

fn read_package(bytes: &[u8]) -> Result<(), String> {
    match packed(bytes).filter(|_| !bytes.starts_with(b"PK")) {
        Some(package) => read_mesh(&package),
        None => read_mesh(bytes),
    }
}

/// A job read is folded, looked over, told and written again: what is written reads back the same.
fn read_job(bytes: &[u8]) -> Result<(), String> {
    let opened = job::open(bytes).map_err(|why| worded(&why))?;
    let folded = opened.ledger.fold();
    let _ = samespot_core::run::look(&folded);
    let ask = HistoryAsk {
        find: String::new(),
        only: None,
        most: 200,
    };
    let _ = history(&opened.ledger, &folded, &ask);
    // A finding stops the tool, which names the damage that led to it.
    #[allow(clippy::expect_used, reason = "a finding")]
    let again = job_json(&opened.ledger).expect("it can be written again");
    #[allow(clippy::expect_used, reason = "a finding")]
    let again = job::open(again.as_bytes()).expect("what was written opens");
    assert_eq!(again.ledger.len(), opened.ledger.len(), "an entry was lost");
    Ok(())
}

fn a_job() -> Job {
    small().ledger.fold()
}

fn read_table(bytes: &[u8]) -> Result<(), String> {
    let (text, _) = table::decode(bytes).map_err(|why| worded(&why))?;
    let job = a_job();
    let mut came = Ok(());
    for lay in [table::Lay::Over, table::Lay::Straight] {
        came = read_sheet(&job, &text, lay).map(|_| ());
    }
    if let Err(why) = &came {
        assert!(!why.trim().is_empty(), "refused without a word");
    }
    came
}

fn read_mesh(bytes: &[u8]) -> Result<(), String> {
    let scan = mesh::read(bytes).map_err(|why| worded(&why))?;
    let corners = scan.mesh.points.len();
    let numbers = scan.mesh.points.iter().flatten().all(|x| x.is_finite());
    assert!(numbers, "a corner that is no number");
    let there = |t: &[u32; 3]| {
        t.iter()
            .all(|c| usize::try_from(*c).is_ok_and(|c| c < corners))
    };
    assert!(
        scan.mesh.triangles.iter().all(there),
        "a corner that isn't there"
    );
    for words in &scan.notes {
        assert!(!words.contains("NaN") && !words.contains("inf"), "{words}");
    }
    Ok(())
}

/// What a refusal says: something.
pub(super) fn worded(why: &impl ToString) -> String {
    let said = why.to_string();
    assert!(!said.trim().is_empty(), "refused without a word");
    said
}

#[cfg(feature = "artwork")]
mod drawn {
    use super::{Chance, damaged, worded};
    use samespot_core::read::artwork::{Answers, prepare, read};
    use samespot_core::read::photo;
    use samespot_core::units::Length;

    pub(super) fn read_artwork(bytes: &[u8]) -> Result<(), String> {
        let art = read(bytes).map_err(|why| worded(&why))?;
        match prepare(&art, &Answers::default()) {
            Err(why) => Err(worded(&why)),
            Ok(outline) => {
                let places = outline.polylines(Length::from_mm(0.1));
                let finite = |p: &samespot_core::frames::Point2<samespot_core::frames::Flat>| {
                    p.x_mm().is_finite() && p.y_mm().is_finite()
                };
                assert!(
                    places.iter().flatten().all(finite),
                    "a place that is no number"
                );
                Ok(())
            }
        }
    }

    /// Bytes damaged; or the picture itself: blots, scratches, a shadow, a corner cut off.
    pub(super) fn marred(whole: &[u8], chance: &mut Chance) -> Vec<u8> {
        let picture = image::load_from_memory(whole).ok().map(|p| p.into_luma8());
        let Some(mut picture) = picture.filter(|_| chance.below(2) == 0) else {
            return damaged(whole, chance);
        };
        let (w, h) = picture.dimensions();
        let side = |n: u32, chance: &mut Chance| {
            u32::try_from(chance.below(usize::try_from(n).unwrap_or(1))).unwrap_or(0)
        };
        for _ in 0..chance.below(4) {
            let (x, y) = (side(w, chance), side(h, chance));
            let large = [4, 4, 30, 200][chance.below(4)];
            let (across, up) = (1 + side(large, chance), 1 + side(large, chance));
            let ink = image::Luma([[0, 60, 128, 255][chance.below(4)]]);
            for i in x..(x + across).min(w) {
                for j in y..(y + up).min(h) {
                    picture.put_pixel(i, j, ink);
                }
            }
        }
        let cut = if chance.below(4) == 0 {
            1 + side(w, chance)
        } else {
            w
        };
        let picture = image::imageops::crop_imm(&picture, 0, 0, cut, h).to_image();
        let mut bytes = std::io::Cursor::new(Vec::new());
        let _ = picture.write_to(&mut bytes, image::ImageFormat::Png);
        bytes.into_inner()
    }

    pub(super) fn read_photo(bytes: &[u8]) -> Result<(), String> {
        let tracing = photo::read(bytes).map_err(|why| worded(&why))?;
        assert!(tracing.across.mm().is_finite() && tracing.up.mm().is_finite());
        assert!(tracing.within.mm().is_finite() && tracing.within.mm() > 0.0);
        Ok(())
    }
}
