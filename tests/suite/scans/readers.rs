//! The mesh files of design/08, *Mesh inputs*, and what becomes of damaged ones.

use samespot_core::read::mesh::{MeshError, Scan, ScanUnit, read};
use samespot_tests::meshes::{Made, cube, shaken};
use std::io::Write;

/// Corner at the origin, edge 100, 12 triangles outward: closed, volume +1 000 000, area 60 000.
#[track_caller]
fn baseline(name: &str, bytes: &[u8]) -> Scan {
    let scan = read(bytes).unwrap_or_else(|e| panic!("{name}: {e}"));
    let look = &scan.look;
    assert_eq!(
        (scan.mesh.points.len(), scan.mesh.triangles.len()),
        (8, 12),
        "{name}"
    );
    assert_eq!((look.low, look.high), ([0.0; 3], [100.0; 3]), "{name}");
    volume_is(name, &scan, 1e6);
    assert!((look.area - 6e4).abs() < 1e-9, "{name}");
    assert_eq!((look.holes, look.pieces), (0, 1), "{name}");
    scan
}

/// To a part in 1e12: sixteen digits added up a dozen times.
#[track_caller]
fn volume_is(name: &str, scan: &Scan, cubed: f64) {
    let volume = scan.look.volume.unwrap();
    assert!((volume / cubed - 1.0).abs() < 1e-12, "{name}: {volume}");
}

#[track_caller]
fn refused(name: &str, bytes: &[u8], says: &str) {
    let why = read(bytes).map(|s| s.notes).unwrap_err().to_string();
    assert!(why.contains(says), "{name}: {why}");
}

fn package(entries: &[(&str, &[u8])], packed: bool) -> Vec<u8> {
    let mut out = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in entries {
        let stored = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Stored);
        out.start_file(*name, stored).unwrap();
        out.write_all(content).unwrap();
    }
    let mut bytes = out.finish().unwrap().into_inner();
    if packed {
        bytes = by_hand(entries);
    }
    bytes
}

/// A ZIP with deflated entries, written field by field (APPNOTE 6.3.10): the tests' own zip crate
/// is built without a packer.
fn by_hand(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for (name, content) in entries {
        let packed = miniz_oxide::deflate::compress_to_vec(content, 6);
        let at = out.len() as u32;
        let mut middle: Vec<u8> = Vec::new();
        middle.extend([20, 0, 0, 0, 8, 0, 0, 0, 33, 0, 0, 0, 0, 0]);
        middle.extend((packed.len() as u32).to_le_bytes());
        middle.extend((content.len() as u32).to_le_bytes());
        middle.extend((name.len() as u16).to_le_bytes());
        middle.extend([0, 0]);
        out.extend(*b"PK\x03\x04");
        out.extend(&middle);
        out.extend(name.bytes());
        out.extend(&packed);
        list.extend(*b"PK\x01\x02\x14\x00");
        list.extend(&middle);
        list.extend([0; 10]);
        list.extend(at.to_le_bytes());
        list.extend(name.bytes());
    }
    let (start, count) = (out.len() as u32, entries.len() as u16);
    out.extend(&list);
    out.extend(*b"PK\x05\x06\0\0\0\0");
    out.extend(count.to_le_bytes());
    out.extend(count.to_le_bytes());
    out.extend((list.len() as u32).to_le_bytes());
    out.extend(start.to_le_bytes());
    out.extend([0, 0]);
    out
}

fn quads() -> String {
    let mut out = String::new();
    for [x, y, z] in cube(100.0).points {
        out += &format!("v {x} {y} {z}\n");
    }
    out + "f 1 3 4 2\nf 5 6 8 7\nf 1 2 6 5\nf 3 7 8 4\nf 1 5 7 3\nf 2 4 8 6\n"
}

#[test]
fn the_same_cube_comes_out_of_every_kind_of_file() {
    let made = cube(100.0);
    let text = made.stl_text();
    baseline("M1", text.as_bytes());
    let wild = text
        .replace("facet normal", "FACET  NORMAL")
        .replace("vertex ", "vertex\t")
        .replace('\n', "\r\n\r\n");
    baseline("M2", wild.trim_end().as_bytes());
    let numbers = text.replace("100.0", "1.0E+02").replace(" 0.0", " -0");
    baseline("M4", numbers.as_bytes());
    baseline(
        "M4",
        text.replace("100.0", "+100.")
            .replace("0.0 ", ".0e3 ")
            .as_bytes(),
    );
    baseline(
        "M6",
        format!("\u{feff}{}", text.replace("invented", "角 facet vertex")).as_bytes(),
    );
    let mut binary = made.stl();
    baseline("binary", &binary);
    binary[..10].copy_from_slice(b"solid cube");
    baseline("M7", &binary);
    baseline("M22", quads().as_bytes());
    let dressed = quads()
        .replace("f 1 3 4 2", "g a name with spaces\nf 1/1/1 3//2 \\\n4/7 2")
        .replace("v 0 0 0\n", "# ends so \\\nv 0 0 0\n");
    baseline(
        "M25",
        format!(
            "\u{feff}mtllib not-here.mtl\r\n{}",
            dressed.replace('\n', "\r\n")
        )
        .as_bytes(),
    );
    let relative = quads().replace("f 2 4 8 6", "f -7 -5 -1 -3");
    baseline("M23", relative.as_bytes());
    // As text, and binary either way round: the same to the last bit, in the same order.
    let [ascii, little, big] = ["ascii", "binary_little_endian", "binary_big_endian"]
        .map(|format| baseline(&format!("M28 {format}"), &made.ply(format)).mesh);
    assert_eq!(ascii, little, "M28");
    assert_eq!(ascii, big, "M28");
    assert_eq!(ascii.triangles, made.triangles, "M28");
    let ply = String::from_utf8(made.ply("ascii")).unwrap();
    let extra = ply
        .replace(
            "element face",
            "element edge 1\nproperty int a\nobj_info x\nelement face",
        )
        .replace("3 0 2 3\n", "7\n3 0 2 3\n")
        .replace("vertex_indices", "vertex_index")
        .replacen("end_header\n", "END\n", 1);
    let (head, body) = extra.split_once("END\n").unwrap();
    let crlf = format!("{}end_header\r\n{body}", head.replace('\n', "\r\n"));
    baseline("M29", crlf.as_bytes());
    let model = made.model();
    for packed in [false, true] {
        let bytes = package(&[("3D/3dmodel.model", model.as_bytes())], packed);
        let scan = baseline("3MF", &bytes);
        assert_eq!(scan.unit, Some(ScanUnit::Mm));
    }
    let nested = model
        .replace("<object id=\"1\"", "<object id=\"7\"")
        .replace(
            "</resources>",
            "<object id=\"1\"><components><component objectid=\"7\" \
             transform=\"0 1 0 -1 0 0 0 0 1 100 0 0\"/></components></object></resources>",
        );
    baseline(
        "turned in 3MF",
        &package(&[("3D/3dmodel.model", nested.as_bytes())], true),
    );
}

/// A cube of 100 mm drawn in inches, in metres, in centimetres, and in micrometres: its numbers are taken
/// as they are, no unit is guessed, and what it would be in each is told from what one of each is
/// (1 inch = 25.4 mm exactly: International Yard and Pound Agreement, 1959).
#[test]
fn how_large_a_file_says_it_is_stays_as_it_is_until_somebody_says_the_unit() {
    for (edge, in_mm) in [
        (3.937, [3.937, 39.37, 99.9998, 3937.0]),
        (0.1, [0.1, 1.0, 2.54, 100.0]),
        (10.0, [10.0, 100.0, 254.0, 10_000.0]),
        (100_000.0, [1e5, 1e6, 2.54e6, 1e8]),
    ] {
        let made = cube(edge);
        let wide = |bytes: &[u8], digits: f64| {
            let scan = read(bytes).unwrap_or_else(|e| panic!("M20 {edge}: {e}"));
            assert_eq!(scan.unit, None, "M20 {edge}: STL and PLY say no unit");
            for k in 0..3 {
                let size = scan.look.high[k] - scan.look.low[k];
                for (unit, mm) in ScanUnit::ALL.iter().zip(in_mm) {
                    let told = size * unit.mm();
                    assert!(
                        (told / mm - 1.0).abs() < digits,
                        "M20 {edge}: {told} for {mm}"
                    );
                }
            }
            let volume = scan.look.volume.unwrap();
            assert!(
                (volume / edge.powi(3) - 1.0).abs() < 4.0 * digits,
                "M20 {volume}"
            );
            assert!(scan.notes.is_empty(), "M20 {edge}: {:?}", scan.notes);
        };
        // Singles hold seven digits.
        wide(&made.stl(), 1e-7);
        wide(made.stl_text().as_bytes(), 1e-12);
        wide(&made.ply("ascii"), 1e-12);
    }
}

#[test]
fn what_cannot_be_read_is_refused_with_the_place_and_a_way_out() {
    let made = cube(100.0);
    let (binary, text) = (made.stl(), made.stl_text());
    refused(
        "M3",
        text.replace("100.0", "100,000000").as_bytes(),
        "decimal commas (100,000000)",
    );
    refused("M9", &binary[..659], "stops inside triangle 12 of 12");
    let mut count = binary.clone();
    count[80..84].fill(0xFF);
    refused("M10", &count, "4294967295 triangles");
    refused("M11", b"", "no surface");
    refused("M11", &[&binary[..80], &[0; 4][..]].concat(), "no surface");
    refused("M11", b"solid\nendsolid\n", "no surface");
    refused(
        "cut text",
        text.split_at(text.len() - 60).0.as_bytes(),
        "stops inside triangle 12",
    );
    for (wrong, says) in [
        ("f 0 1 2", "line 15: point 0 of 8"),
        ("f 9 1 2", "line 15: point 9 of 8"),
        ("f 1 2", "line 15: a face with 2 corners"),
        ("f 1 2 x", "line 15: 'x' names no point"),
        ("v 1 2 x", "line 15: 'x' is not a number"),
    ] {
        refused("M26", format!("{}{wrong}\n", quads()).as_bytes(), says);
    }
    let ply = String::from_utf8(made.ply("ascii")).unwrap();
    refused(
        "M30",
        ply.replace("3 0 2 3\n", "-3 0 2 3\n").as_bytes(),
        "-3 corners",
    );
    refused(
        "M30",
        ply.replace("vertex 8", "vertex 4000000000").as_bytes(),
        "4000000000 points",
    );
    let mut low = made.ply("binary_little_endian");
    let last = low.len() - 13;
    low[last] = 200;
    refused("M30", &low, "stops inside triangle 12 of 12");
    refused("M32", &package(&[("a.txt", b"x")], false), "no model");
    let bomb = vec![b' '; 120 * 1024 * 1024];
    refused(
        "M32",
        &by_hand(&[("3D/3dmodel.model", &bomb)]),
        "longer than 96 MB",
    );
    refused("M33", b"\x89PNG\r\n\x1a\n0000", "a picture (PNG)");
    refused("M33", b"<!DOCTYPE html><p>gone", "a web page");
    refused("text", b"dear all", "a text of another kind");
    let mut many = vec![0; 84];
    many[80..84].copy_from_slice(&6_000_000_u32.to_le_bytes());
    many.resize(84 + 50 * 6_000_000, 0);
    refused("M34", &many, "6000000 triangles, more than the 4000000");
}

#[test]
fn what_is_odd_is_counted_and_said() {
    let said = |made: &Made| {
        let scan = read(&made.stl()).unwrap();
        (scan.notes.join("; "), scan)
    };
    let made = cube(100.0);
    let mut flat = made.clone();
    flat.points.push([50.0, 0.0, 0.0]);
    flat.triangles.extend([[0, 0, 1], [0, 8, 1]]);
    let (notes, scan) = said(&flat);
    assert!(
        notes.contains("2 triangles without any width were left out"),
        "M12: {notes}"
    );
    volume_is("M12", &scan, 1e6);
    let mut open = made.clone();
    open.triangles.pop();
    let (notes, scan) = said(&open);
    assert!(
        notes.contains("1 hole or edge with 3 open sides"),
        "M14: {notes}"
    );
    assert_eq!(scan.look.volume, None, "M14");
    let mut turned = made.clone();
    for t in &mut turned.triangles[..2] {
        t.swap(1, 2);
    }
    assert!(said(&turned).0.contains("opposite ways at 4 edges"), "M15");
    let mut inside = made.clone();
    for t in &mut inside.triangles {
        t.swap(1, 2);
    }
    let (notes, scan) = said(&inside);
    assert!(notes.contains("inside out"), "M16");
    volume_is("M16", &scan, -1e6);
    let mut twice = made.clone();
    twice.triangles.extend(made.triangles.clone());
    let (notes, scan) = said(&twice);
    assert!(
        notes.contains("12 triangles listed twice were left out"),
        "M17: {notes}"
    );
    volume_is("M17", &scan, 1e6);
    let mut two = made.clone();
    for p in &made.points {
        two.points.push([p[0] + 100.0, p[1] + 100.0, p[2]]);
    }
    two.triangles
        .extend(made.triangles.iter().map(|t| t.map(|k| k + 8)));
    let (notes, scan) = said(&two);
    assert_eq!(scan.look.crowded_edges, 1, "M19");
    assert!(
        notes.contains("1 edge where more than two triangles meet"),
        "M19: {notes}"
    );
    let mut bad = made.stl();
    bad[96..100].copy_from_slice(&f32::NAN.to_le_bytes());
    let scan = read(&bad).unwrap();
    assert!(
        scan.notes[0].contains("1 triangle with a corner that is no number"),
        "{:?}",
        scan.notes
    );
    // A concave face of five corners: an arrowhead of area 50·100/2 + 50·100/2 − what is cut in.
    let arrow = b"v 0 0 0\nv 100 0 0\nv 50 30 0\nv 50 100 0\nv 0 50 0\nf 1 2 3 4 5\n";
    let scan = read(arrow).unwrap();
    // Shoelace by hand: (0·0−100·0)+(100·30−50·0)+(50·100−50·30)+(50·50−0·100)+0 = 9000.
    assert!(
        (scan.look.area - 4500.0).abs() < 1e-9,
        "M22: {}",
        scan.look.area
    );
}

#[test]
fn more_corners_than_sixteen_bits_hold_are_all_there() {
    let made =
        samespot_tests::meshes::patch((0.0, 1.0), (0.0, 1.0), (300, 240), |a, b| [a, b, 0.0]);
    let scan = read(&made.ply("binary_big_endian")).unwrap();
    assert_eq!(scan.mesh.points.len(), 301 * 241, "M35");
    assert!((scan.look.area - 1.0).abs() < 1e-9);
}

#[test]
fn order_place_turn_and_unit_change_nothing_that_is_measured() {
    let made = cube(10.0);
    let mut other = made.clone();
    other.triangles.reverse();
    for t in &mut other.triangles {
        t.rotate_left(1);
    }
    for p in &mut other.points {
        *p = [p[1] * 25.4 + 7.0, p[2] * 25.4 - 9.0, p[0] * 25.4];
    }
    let (a, b) = (
        read(made.ply("ascii").as_slice()).unwrap().look,
        read(other.ply("ascii").as_slice()).unwrap().look,
    );
    assert!((a.area * 25.4 * 25.4 / b.area - 1.0).abs() < 1e-12);
    let (v, w) = (a.volume.unwrap(), b.volume.unwrap());
    assert!((v * 25.4_f64.powi(3) / w - 1.0).abs() < 1e-12);
}

/// Flips, cuts, doubles: no panic, no number that is none, no more triangles than the bytes hold.
#[test]
fn damaged_files_never_break_a_reader() {
    let made = cube(100.0);
    let model = package(&[("3D/3dmodel.model", made.model().as_bytes())], true);
    let files: [(&str, Vec<u8>); 7] = [
        ("stl", made.stl()),
        ("stl text", made.stl_text().into_bytes()),
        ("obj", quads().into_bytes()),
        ("ply", made.ply("ascii")),
        ("ply low", made.ply("binary_little_endian")),
        ("ply high", made.ply("binary_big_endian")),
        ("3mf", model),
    ];
    let mut seed = 0x0DD5_EED5_u64;
    let mut read_on = 0;
    for (name, whole) in &files {
        let looked_at = |bytes: &[u8]| match read(bytes) {
            Ok(scan) => {
                assert!(
                    scan.mesh.points.iter().flatten().all(|x| x.is_finite()),
                    "{name}"
                );
                assert!(scan.mesh.triangles.len() <= bytes.len(), "{name}");
                assert!(!scan.look.area.is_nan(), "{name}");
                1
            }
            Err(why) => {
                assert!(
                    !matches!(&why, MeshError::Line { why, .. } if why.is_empty()),
                    "{name}"
                );
                0
            }
        };
        for end in 0..whole.len() {
            looked_at(&whole[..end]);
        }
        for _ in 0..4000 {
            let mut bytes = whole.clone();
            for _ in 0..3 {
                let at = ((shaken(&mut seed) + 1.0) / 2.0 * bytes.len() as f64) as usize;
                let at = at.min(bytes.len() - 1);
                match ((shaken(&mut seed) + 1.0) * 2.0) as u32 {
                    0 => bytes[at] ^= 1 << (at % 8),
                    1 => bytes[at] = 0xFF,
                    2 => drop(bytes.remove(at)),
                    _ => bytes.insert(at, b"0-9 \n\x00"[at % 6]),
                }
            }
            read_on += looked_at(&bytes);
        }
    }
    // Many a flip does no harm: were all refused, little would have been looked at.
    assert!(read_on > 500, "{read_on}");
}

#[test]
fn five_million_triangles_are_refused_with_the_number_that_says_why() {
    let count: u32 = 5_000_000;
    let mut file = vec![0_u8; 84 + 50 * count as usize];
    file[80..84].copy_from_slice(&count.to_le_bytes());
    let why = read(&file).unwrap_err();
    assert_eq!(why, MeshError::TooMany { count: 5_000_000 });
    let says = why.to_string();
    assert!(
        says.contains("5000000") && says.contains("4000000"),
        "{says}"
    );
}
