//! The third WebAssembly module: reading scans, loaded when the first one is opened.
//!
//! The way in and out of [`samespot_core::read::mesh`]. A scan is too large to be handed over with
//! every question, so the module keeps the last one that was opened. It may be gone (a worker is
//! ended when it breaks off): then the answer is *gone*, and whoever asks hands it over again.

use samespot_core::read::mesh::bvh::Boxes;
use samespot_core::read::mesh::fit::{Laid, Wanted, fit};
use samespot_core::read::mesh::view::View;
use samespot_core::read::mesh::{Reached, Scan, ScanUnit, read_telling};
use serde::{Deserialize, Serialize};
use std::cell::RefCell;
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast, JsValue};

/// A question about the scan.
#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
enum Told {
    /// Reads the file in the bytes, and keeps it.
    Open,
    /// A picture of it.
    View {
        #[serde(flatten)]
        from: Side,
        /// Places to be found in the picture, in the scan's unit.
        marks: Vec<[f64; 3]>,
    },
    /// The place under a point of the picture.
    Pick {
        #[serde(flatten)]
        from: Side,
        /// Right and down, pixels.
        at: [f64; 2],
    },
    /// Makes a face of the part around the marks.
    #[serde(rename_all = "kebab-case")]
    Fit {
        marks: Vec<Named>,
        toward: Option<[f64; 3]>,
        up: [f64; 3],
        unit: String,
        smooth_mm: Option<f64>,
    },
}

/// A place with the name it has on the screen.
#[derive(Debug, Clone, Deserialize)]
struct Named {
    name: String,
    at: [f64; 3],
}

/// The side it is seen from.
#[derive(Debug, Clone, Deserialize)]
struct Side {
    up: [f64; 3],
    /// About up, degrees.
    turn: f64,
    /// Looking down on it, degrees.
    tilt: f64,
    zoom: f64,
    centre: Option<[f64; 3]>,
    size: [usize; 2],
}

/// What came of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "came", rename_all = "kebab-case")]
enum Came {
    /// It was read.
    #[serde(rename_all = "kebab-case")]
    Read {
        kind: &'static str,
        triangles: usize,
        unit: Option<&'static str>,
        size: [f64; 3],
        notes: Vec<String>,
    },
    /// The picture is in the bytes (PNG).
    #[serde(rename_all = "kebab-case")]
    View { marks: Vec<Seen> },
    /// A place, and the way to who looks at it.
    Picked { at: [f64; 3], toward: [f64; 3] },
    /// Nothing is there.
    Missed,
    /// The face is in the bytes, to be attached.
    #[serde(rename_all = "kebab-case")]
    Fitted {
        marks: Vec<On>,
        triangles: usize,
        edge_mm: f64,
        smoothed_over_mm: f64,
        moved_rms_mm: f64,
        moved_most_mm: f64,
        turned: bool,
    },
    /// No scan is held.
    Gone,
    /// Why nothing came of it.
    Refused { sentence: String },
}

#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
struct Seen {
    at: [f64; 2],
    in_sight: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
struct On {
    uv_mm: [f64; 2],
    off_mm: f64,
    moved_mm: f64,
}

struct Held {
    scan: Scan,
    boxes: Boxes,
}

thread_local! {
    static HELD: RefCell<Option<Held>> = const { RefCell::new(None) };
}

/// A panic throws its words at who asked. What ends the module without any is memory that was refused:
/// `public/worker.js` tells the two apart by that.
#[wasm_bindgen(start)]
pub fn begin() {
    std::panic::set_hook(Box::new(|info| {
        wasm_bindgen::throw_str(&info.to_string());
    }));
}

/// Answers one request in the worker: `{ json, bytes }`.
#[wasm_bindgen]
#[must_use]
pub fn answer(request: &str, bytes: Option<Vec<u8>>) -> JsValue {
    let (json, made) = reply_telling(request, bytes.unwrap_or_default(), &mut post);
    let answer = js_sys::Object::new();
    let made = js_sys::Uint8Array::from(made.as_slice());
    // Setting a field of an object just made cannot fail.
    let _ = js_sys::Reflect::set(&answer, &"json".into(), &json.into());
    let _ = js_sys::Reflect::set(&answer, &"bytes".into(), &made);
    answer.into()
}

/// Tells the page how far it is: `{ progress }`, before the answer that it waits for.
fn post(says: &str) {
    let global = js_sys::global();
    let message = js_sys::Object::new();
    let _ = js_sys::Reflect::set(&message, &"progress".into(), &says.into());
    let post = js_sys::Reflect::get(&global, &"postMessage".into());
    if let Some(post) = post
        .ok()
        .and_then(|p| p.dyn_into::<js_sys::Function>().ok())
    {
        let _ = post.call1(&global, &message);
    }
}

/// *1 200 000*.
fn grouped(count: usize) -> String {
    let digits = count.to_string();
    let mut out = String::new();
    for (k, digit) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k).is_multiple_of(3) {
            out.push('\u{a0}');
        }
        out.push(digit);
    }
    out
}

/// How far reading has come, in words.
fn progress(reached: Reached) -> String {
    match reached {
        Reached::Opened { bytes } => {
            format!(
                "Reading the scan, 1 of 4: taking {} MB apart…",
                bytes.div_ceil(1_000_000)
            )
        }
        Reached::Triangles { count } => format!(
            "Reading the scan, 2 of 4: joining the corners of {} triangles…",
            grouped(count)
        ),
        Reached::Joined { corners } => format!(
            "Reading the scan, 3 of 4: looking over {} corners…",
            grouped(corners)
        ),
    }
}

/// [`answer`] without the browser.
#[must_use]
pub fn reply(request: &str, bytes: Vec<u8>) -> (String, Vec<u8>) {
    reply_telling(request, bytes, &mut |_| {})
}

/// The same, telling how far it is while it works.
#[must_use]
pub fn reply_telling(
    request: &str,
    bytes: Vec<u8>,
    tell: &mut dyn FnMut(&str),
) -> (String, Vec<u8>) {
    let refused = |sentence: String| (Came::Refused { sentence }, Vec::new());
    let (came, made) = match serde_json::from_str::<Told>(request) {
        Err(e) => refused(format!("the question was not understood: {e}")),
        Ok(Told::Open) => open(bytes, tell),
        Ok(told) => HELD.with_borrow(|held| match held {
            None => (Came::Gone, Vec::new()),
            Some(held) => held.answers(told),
        }),
    };
    (serde_json::to_string(&came).unwrap_or_default(), made)
}

fn open(bytes: Vec<u8>, tell: &mut dyn FnMut(&str)) -> (Came, Vec<u8>) {
    // The one before makes room first.
    HELD.set(None);
    let read = read_telling(&bytes, &mut |reached| tell(&progress(reached)));
    drop(bytes);
    let came = match read {
        Err(e) => Came::Refused {
            sentence: e.to_string(),
        },
        Ok(scan) => {
            let came = Came::Read {
                kind: scan.kind,
                triangles: scan.mesh.triangles.len(),
                unit: scan.unit.map(ScanUnit::name),
                size: core::array::from_fn(|k| scan.look.high[k] - scan.look.low[k]),
                notes: scan.notes.clone(),
            };
            tell("Reading the scan, 4 of 4: sorting it, so that marks can be picked…");
            let boxes = Boxes::over(&scan.mesh);
            HELD.set(Some(Held { scan, boxes }));
            came
        }
    };
    (came, Vec::new())
}

impl Held {
    fn view(&self, from: &Side) -> View {
        View::of(
            &self.scan.look,
            from.up,
            (from.turn.to_radians(), from.tilt.to_radians()),
            (from.zoom, from.centre),
            from.size,
        )
    }

    fn answers(&self, told: Told) -> (Came, Vec<u8>) {
        let (mesh, look) = (&self.scan.mesh, &self.scan.look);
        let nothing = Vec::new();
        match told {
            Told::Open => (Came::Gone, nothing),
            Told::View { from, marks } => {
                let view = self.view(&from);
                let marks = marks
                    .iter()
                    .map(|at| {
                        let [x, y, _] = view.seen(*at);
                        Seen {
                            at: [x, y],
                            in_sight: view.in_sight(mesh, &self.boxes, look, *at),
                        }
                    })
                    .collect();
                (Came::View { marks }, view.picture(mesh))
            }
            Told::Pick { from, at } => {
                let view = self.view(&from);
                let came = match view.under(mesh, &self.boxes, look, at) {
                    Some(met) => Came::Picked {
                        at: met.at,
                        toward: view.toward,
                    },
                    None => Came::Missed,
                };
                (came, nothing)
            }
            Told::Fit {
                marks,
                toward,
                up,
                unit,
                smooth_mm,
            } => {
                let refused = |sentence: String| Came::Refused { sentence };
                let Some(unit) = ScanUnit::of_name(&unit) else {
                    return (refused("say which unit the scan is in".into()), nothing);
                };
                let marks: Vec<(String, [f64; 3])> =
                    marks.into_iter().map(|m| (m.name, m.at)).collect();
                let wanted = Wanted {
                    marks: &marks,
                    toward,
                    up,
                    unit_mm: unit.mm(),
                    smooth_mm,
                };
                let fitted = match fit(mesh, &self.boxes, look, &wanted) {
                    Err(e) => return (refused(e.to_string()), nothing),
                    Ok(fitted) => fitted,
                };
                let patch = serde_json::to_vec(&fitted.patch).unwrap_or_default();
                let on = |m: &Laid| On {
                    uv_mm: m.uv_mm,
                    off_mm: m.off_mm,
                    moved_mm: m.moved_mm,
                };
                let came = Came::Fitted {
                    marks: fitted.marks.iter().map(on).collect(),
                    triangles: fitted.triangles,
                    edge_mm: fitted.edge_mm,
                    smoothed_over_mm: fitted.patch.smoothed_over_mm,
                    moved_rms_mm: fitted.patch.moved_rms_mm,
                    moved_most_mm: fitted.patch.moved_most_mm,
                    turned: fitted.turned,
                };
                (came, patch)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use serde_json::{Value, json};

    fn ask(told: &Value, bytes: &[u8]) -> (Value, Vec<u8>) {
        let (json, made) = reply(&told.to_string(), bytes.to_vec());
        (serde_json::from_str(&json).unwrap(), made)
    }

    /// A gentle hill over x and y, 200 by 200, in steps of 5.
    fn hill() -> Vec<u8> {
        let mut obj = String::new();
        for j in 0..=40 {
            for i in 0..=40 {
                let (x, y) = (f64::from(i) * 5.0 - 100.0, f64::from(j) * 5.0 - 100.0);
                obj += &format!("v {x} {y} {}\n", 40.0 - (x * x + y * y) / 400.0);
            }
        }
        for j in 0..40 {
            for i in 0..40 {
                let a = j * 41 + i + 1;
                obj += &format!("f {} {} {} {}\n", a, a + 1, a + 42, a + 41);
            }
        }
        obj.into_bytes()
    }

    #[test]
    fn it_says_how_far_it_is_before_each_part_of_the_work() {
        let mut said: Vec<String> = Vec::new();
        let told = json!({ "do": "open" }).to_string();
        let (came, _) = reply_telling(&told, hill(), &mut |s| said.push(s.into()));
        assert!(came.contains("\"read\""), "{came}");
        assert_eq!(said.len(), 4, "{said:?}");
        for (k, says) in said.iter().enumerate() {
            assert!(says.contains(&format!("{} of 4", k + 1)), "{says}");
        }
        // 40 by 40 squares of two triangles, 41 by 41 corners.
        assert!(said[1].contains("3\u{a0}200 triangles"), "{}", said[1]);
        assert!(said[2].contains("1\u{a0}681 corners"), "{}", said[2]);
        // What is no scan is not looked over.
        said.clear();
        let _ = reply_telling(&told, b"%PDF".to_vec(), &mut |s| said.push(s.into()));
        assert_eq!(said.len(), 1);
        assert_eq!(grouped(1_234_567), "1\u{a0}234\u{a0}567");
        assert_eq!(grouped(12), "12");
    }

    #[test]
    fn a_scan_is_opened_seen_picked_and_made_a_face() {
        let from_above = json!({ "up": [0, 1, 0], "turn": 0, "tilt": 0, "zoom": 1,
            "centre": null, "size": [400, 400] });
        let with = |more: Value| {
            let mut all = from_above.clone();
            for (k, v) in more.as_object().unwrap() {
                all[k] = v.clone();
            }
            all
        };
        assert_eq!(
            ask(
                &json!({ "do": "view", "up": [0,1,0], "turn": 0, "tilt": 0, "zoom": 1,
            "centre": null, "size": [9, 9], "marks": [] }),
                b""
            )
            .0["came"],
            "gone"
        );
        let (came, _) = ask(&json!({ "do": "open" }), &hill());
        assert_eq!(
            (came["came"].as_str(), came["triangles"].as_u64()),
            (Some("read"), Some(3200))
        );
        assert_eq!(came["size"][0], 200.0);
        let (came, png) = ask(&with(json!({ "do": "view", "marks": [[0, 0, 40]] })), b"");
        assert!(png.starts_with(b"\x89PNG"));
        // Seen along z with y up, its middle is in the middle of the picture.
        assert_eq!(
            came["marks"][0],
            json!({ "at": [200.0, 200.0], "in-sight": true })
        );
        let (came, _) = ask(&with(json!({ "do": "pick", "at": [200, 200] })), b"");
        assert!(
            (came["at"][2].as_f64().unwrap() - 40.0).abs() < 1e-9,
            "{came}"
        );
        assert_eq!(
            ask(&with(json!({ "do": "pick", "at": [1, 1] })), b"").0["came"],
            "missed"
        );
        let told = json!({ "do": "fit", "toward": [0, 0, 1], "up": [0, 1, 0], "unit": "mm",
            "smooth-mm": null, "marks": [{ "name": "A", "at": [-50, 0, 34] },
            { "name": "B", "at": [50, 0, 34] }, { "name": "eye", "at": [0, 20, 39] }] });
        let (came, patch) = ask(&told, b"");
        assert_eq!(came["came"], "fitted", "{came}");
        assert!(samespot_core::surface::scan::Patch::read(&patch).is_ok());
        assert!((came["marks"][0]["uv-mm"][0].as_f64().unwrap() + 50.0).abs() < 0.5);
        let mut no_unit = told;
        no_unit["unit"] = "furlong".into();
        assert_eq!(ask(&no_unit, b"").0["came"], "refused");
        assert_eq!(
            ask(&json!({ "do": "open" }), b"\x89PNG").0["came"],
            "refused"
        );
    }
}
