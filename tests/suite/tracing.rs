//! The tracing frame: what is traced, photographed and read back is as large as it was drawn. The
//! frame is rendered by poppler, the camera is ours (`photograph`), ray by ray.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use samespot_core::read::photo::{Homography, PhotoError, read};
use samespot_core::sheet::{FrameLayout, Paper, tracing_frame};
use samespot_core::units::Length;
use samespot_core::write::pdf::{Part, pdf};
use samespot_tests::photograph::{Camera, Sheet, pen};

/// The printed frame as poppler renders it; nothing where poppler is not there.
fn printed(paper: Paper) -> Option<Sheet> {
    let drawing = tracing_frame(paper).unwrap();
    let part = Part {
        bookmark: "tracing frame",
        drawing: &drawing,
    };
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("tracing");
    std::fs::create_dir_all(&folder).unwrap();
    // A folder may serve tests that run at once: each has a file of its own.
    static NEXT: std::sync::atomic::AtomicUsize = std::sync::atomic::AtomicUsize::new(0);
    let n = NEXT.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
    let file = folder.join(format!("{n}.pdf"));
    std::fs::write(&file, pdf(&drawing.title, &[part]).unwrap()).unwrap();
    Sheet::of_pdf(&file)
}

/// An oval on a sheet, turned.
#[derive(Clone, Copy)]
struct Oval {
    x: f64,
    y: f64,
    half: (f64, f64),
    turned: f64,
}

impl Oval {
    /// How far a place is outside of it, to first order: the value of its equation over its slope.
    fn off(&self, x: f64, y: f64) -> f64 {
        let (s, c) = self.turned.to_radians().sin_cos();
        let (u, v) = (x - self.x, y - self.y);
        let (u, v) = (u * c + v * s, v * c - u * s);
        let (a, b) = self.half;
        let f = (u / a).powi(2) + (v / b).powi(2) - 1.0;
        let slope = 2.0 * ((u / a / a).powi(2) + (v / b / b).powi(2)).sqrt();
        f / slope.max(1e-6)
    }

    /// Its bounds, across and up.
    fn bounds(&self) -> (f64, f64) {
        let (s, c) = self.turned.to_radians().sin_cos();
        let (a, b) = self.half;
        (2.0 * (a * c).hypot(b * s), 2.0 * (a * s).hypot(b * c))
    }
}

const EYE: Oval = Oval {
    x: 104.0,
    y: 150.0,
    half: (42.0, 30.5),
    turned: 17.0,
};

/// How far the outline, laid back on the sheet by the middle of its bounds, strays from the oval.
fn strays(
    outline: &samespot_core::outline::Outline<samespot_core::frames::Flat>,
    oval: &Oval,
) -> f64 {
    outline
        .polylines(Length::from_mm(0.02))
        .iter()
        .flatten()
        .map(|p| oval.off(oval.x + p.x_mm(), oval.y + p.y_mm()).abs())
        .fold(0.0, f64::max)
}

#[test]
fn a_traced_oval_is_as_large_as_it_was_drawn_however_it_is_photographed() {
    let Some(mut sheet) = printed(Paper::A4) else {
        return;
    };
    sheet.draw(|x, y| pen(EYE.off(x, y), 2.0));
    let held = Camera::held();
    for camera in [
        held,
        // Tilted and turned, half in shadow, noisier.
        Camera {
            turned: [24.0, -14.0, 7.0],
            away: 560.0,
            shade: 0.45,
            noise: 9.0,
            ..held
        },
        // A quarter turn: a phone held across.
        Camera {
            size: (2000, 1500),
            turned: [-12.0, 9.0, 90.0],
            ..held
        },
        // Upside down.
        Camera {
            turned: [6.0, 3.0, 183.0],
            ..held
        },
    ] {
        let read = read(&camera.png(&sheet)).unwrap();
        assert_eq!(read.paper, Paper::A4);
        let (across, up) = EYE.bounds();
        let off = (read.across.mm() - across)
            .abs()
            .max((read.up.mm() - up).abs());
        let strays = strays(&read.outline, &EYE);
        println!(
            "turned {:?}: {:.2} × {:.2}, off {off:.2}, strays {strays:.2}, fifth {:.2}, within {:.2}",
            camera.turned,
            read.across.mm(),
            read.up.mm(),
            read.fifth_off.mm(),
            read.within.mm()
        );
        assert_eq!(read.outline.contours().len(), 1);
        assert!(off < 0.3, "off {off}");
        assert!(strays < 0.3, "strays {strays}");
        // What it promises covers what it does; the hand's half millimetre is not drawn here.
        assert!(strays < read.within.mm() && read.within.mm() < 0.9);
        assert!(read.fifth_off.mm() < 0.2, "fifth {}", read.fifth_off.mm());
        // Few curves, not a thousand corners.
        assert!(read.outline.contours()[0].path_mm().elements().len() < 60);
    }
}

#[test]
fn other_papers_are_told_by_their_fifth_target() {
    for paper in [Paper::A3, Paper::Letter, Paper::Tabloid] {
        let Some(mut sheet) = printed(paper) else {
            return;
        };
        sheet.draw(|x, y| pen(EYE.off(x, y), 2.0));
        let large = matches!(paper, Paper::A3 | Paper::Tabloid);
        let camera = Camera {
            away: if large { 700.0 } else { 480.0 },
            turned: [10.0, 5.0, 0.0],
            ..Camera::held()
        };
        let read = read(&camera.png(&sheet)).unwrap();
        assert_eq!(read.paper, paper);
        assert!(strays(&read.outline, &EYE) < 0.4, "{paper:?}");
    }
}

#[test]
fn an_eye_with_its_pupil_filled_comes_out_as_two_outlines_one_inside_the_other() {
    let Some(mut sheet) = printed(Paper::A4) else {
        return;
    };
    let pupil = Oval {
        half: (12.0, 12.0),
        ..EYE
    };
    sheet.draw(|x, y| pen(EYE.off(x, y), 1.5).max(0.5 - pupil.off(x, y) / 0.1));
    // A fly's worth of dirt is left out and counted.
    sheet.draw(|x, y| pen((x - 150.0).hypot(y - 220.0), 1.6));
    let read = read(&Camera::held().png(&sheet)).unwrap();
    let outline = &read.outline;
    assert_eq!((outline.contours().len(), read.specks), (2, 1));
    let mut sizes: Vec<f64> = outline
        .contours()
        .iter()
        .map(|c| c.bounds().width().mm())
        .collect();
    sizes.sort_by(f64::total_cmp);
    assert!((sizes[0] - 24.0).abs() < 0.3, "{sizes:?}");
    assert!((sizes[1] - EYE.bounds().0).abs() < 0.3, "{sizes:?}");
}

#[test]
fn crosses_over_marks_come_with_the_shape() {
    let Some(mut sheet) = printed(Paper::A4) else {
        return;
    };
    sheet.draw(|x, y| pen(EYE.off(x, y), 2.0));
    let marks = [(60.0, 90.0), (150.0, 215.0), (62.0, 220.0)];
    for (turned, (cx, cy)) in [0.0_f64, 0.35, 0.7].into_iter().zip(marks) {
        let (s, c) = turned.sin_cos();
        // Drawn by hand: one arm shorter than the others.
        let stroke = |along: f64, across: f64| {
            let end = if along < 0.0 { 7.5 } else { 6.0 };
            pen(across, 1.0).min((end - along.abs()) / 0.1 + 0.5)
        };
        sheet.draw(|x, y| {
            let (dx, dy) = (x - cx, y - cy);
            let (u, v) = (dx * c + dy * s, dy * c - dx * s);
            stroke(u, v).max(stroke(v, u))
        });
    }
    let camera = Camera {
        turned: [16.0, -11.0, 5.0],
        away: 540.0,
        ..Camera::held()
    };
    let read = read(&camera.png(&sheet)).unwrap();
    assert_eq!(
        (read.outline.contours().len(), read.marks.len(), read.specks),
        (1, 3, 0)
    );
    for (x, y) in marks {
        let off = read
            .marks
            .iter()
            .map(|m| (m.x_mm() - (x - EYE.x)).hypot(m.y_mm() - (y - EYE.y)))
            .fold(f64::INFINITY, f64::min);
        println!("cross at {x} {y}: {off:.2} off");
        assert!(off < 0.3, "{off}");
    }
}

#[test]
fn a_square_keeps_its_corners() {
    let Some(mut sheet) = printed(Paper::A4) else {
        return;
    };
    let square = |x: f64, y: f64| (x - 105.0).abs().max((y - 150.0).abs()) - 30.0;
    sheet.draw(|x, y| 0.5 - square(x, y) / 0.1);
    let read = read(&Camera::held().png(&sheet)).unwrap();
    let corner = read
        .outline
        .polylines(Length::from_mm(0.02))
        .iter()
        .flatten()
        .map(|p| p.x_mm().hypot(p.y_mm()))
        .fold(0.0, f64::max);
    // A corner of 30 mm either way is 42.4 mm from the middle (Pythagoras); a pen rounds it more.
    assert!((corner - 42.43).abs() < 0.5, "{corner}");
    assert!((read.across.mm() - 60.0).abs() < 0.3);
}

#[track_caller]
fn refused(sheet: &Sheet, camera: &Camera, is: impl Fn(&PhotoError) -> bool) {
    let came = read(&camera.png(sheet));
    match came {
        Err(why) => assert!(is(&why), "{why:?}: {why}"),
        Ok(read) => panic!("read as {} × {}", read.across.mm(), read.up.mm()),
    }
}

#[test]
fn what_would_come_out_wrong_is_refused() {
    let Some(blank) = printed(Paper::A4) else {
        return;
    };
    let held = Camera::held();
    refused(&blank, &held, |w| *w == PhotoError::Nothing);
    let mut eye = blank.clone();
    eye.draw(|x, y| pen(EYE.off(x, y), 2.0));
    let behind = Camera {
        behind: true,
        ..held
    };
    refused(&eye, &behind, |w| *w == PhotoError::FromBehind);
    // A lens that bends a twentieth at the picture's edge.
    let bends = Camera { bends: 0.9, ..held };
    refused(
        &eye,
        &bends,
        |w| matches!(w, PhotoError::Bent { off } if *off > 1.5),
    );
    // From three metres.
    let far = Camera {
        away: 1800.0,
        ..held
    };
    refused(&eye, &far, |w| {
        matches!(w, PhotoError::TooCoarse { .. } | PhotoError::Targets { .. })
    });
    // A thumb on a target.
    let layout = FrameLayout::of(Paper::A4).unwrap();
    let mut thumb = eye.clone();
    thumb.draw(|x, y| {
        pen(
            (x - layout.corners[1].x).hypot(y - layout.corners[1].y - 4.0),
            14.0,
        )
    });
    refused(&thumb, &held, |w| *w == PhotoError::Targets { found: 4 });
    // A line that is not closed, and one that runs out of the window.
    let mut open = blank.clone();
    open.draw(|x, y| {
        if x > 140.0 {
            0.0
        } else {
            pen(EYE.off(x, y), 2.0)
        }
    });
    refused(&open, &held, |w| matches!(w, PhotoError::Open { .. }));
    let mut out = blank.clone();
    let wide = Oval {
        half: (90.0, 40.0),
        turned: 0.0,
        ..EYE
    };
    out.draw(|x, y| pen(wide.off(x, y), 2.0));
    refused(&out, &held, |w| *w == PhotoError::RunsOut);
    // Five targets that are no frame: one moved by 20 mm.
    let mut moved = blank;
    let at = layout.fifth;
    moved.draw(|x, y| {
        if (x - at.x).hypot(y - at.y) < 9.0 {
            -1.0
        } else {
            0.0
        }
    });
    for p in 0..moved.points.len() {
        let (x, y) = (
            (p % moved.wide) as f64 / 10.0,
            297.0 - (p / moved.wide) as f64 / 10.0,
        );
        let r = (x - at.x).hypot(y - at.y);
        if r < 9.0 {
            moved.points[p] = 255;
        }
        let r = (x - at.x).hypot(y - at.y - 40.0);
        if r < 3.0 || (5.5..8.0).contains(&r) {
            moved.points[p] = 30;
        }
    }
    refused(&moved, &held, |w| *w == PhotoError::NotTheFrame);
}

#[test]
fn files_that_are_no_photographs_are_refused_before_they_are_opened() {
    assert!(matches!(read(b"<svg/>"), Err(PhotoError::NotAPicture(_))));
    assert!(matches!(read(b""), Err(PhotoError::NotAPicture(_))));
    // A PNG's head alone (ISO/IEC 15948, 11.2.2) that says 12 000 by 9 000.
    let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
    bytes.extend(12_000_u32.to_be_bytes());
    bytes.extend(9_000_u32.to_be_bytes());
    bytes.extend([8, 0, 0, 0, 0]);
    bytes.extend(crc(&bytes[12..]).to_be_bytes());
    bytes.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
    let why = read(&bytes).unwrap_err();
    assert!(
        matches!(
            why,
            PhotoError::TooLarge {
                megapixels: 108,
                ..
            }
        ),
        "{why:?}"
    );
}

/// The check sum of a chunk (ISO/IEC 15948, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |c, b| {
        (0..8).fold(c ^ u32::from(*b), |c, _| {
            if c & 1 == 1 {
                0xedb8_8320 ^ (c >> 1)
            } else {
                c >> 1
            }
        })
    })
}

/// `reference/homography.py` (OpenCV's getPerspectiveTransform and perspectiveTransform).
#[test]
fn homographies_are_those_of_a_general_library() {
    let text = include_str!("../reference/homography.json");
    let all: serde_json::Value = serde_json::from_str(text).unwrap();
    let point =
        |v: &serde_json::Value| kurbo::Point::new(v[0].as_f64().unwrap(), v[1].as_f64().unwrap());
    let four = |v: &serde_json::Value| [0, 1, 2, 3].map(|i| point(&v[i]));
    let cases = all.as_array().unwrap();
    assert!(cases.len() >= 50);
    for case in cases {
        let h = Homography::through(four(&case["from"]), four(&case["to"])).unwrap();
        let came = h.at(point(&case["at"])).unwrap();
        let off = (came - point(&case["goes"])).hypot();
        // The library solves in pixels as they are, which costs it some digits: 1e-4 of a point.
        assert!(off < 1e-4, "{off} in {case}");
    }
}
