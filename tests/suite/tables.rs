//! Readings from spreadsheets. Every table here was written for this test; the kinds C1 to C16
//! are those of the shared design, page 08, *CSV from spreadsheets*. The grammar is RFC 4180's.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a failed unwrap fails the test"
)]

use proptest::prelude::*;
use samespot_core::job::{
    BoardAxis, CastingId, EdgeId, Entry, FaceAxis, FaceId, FeatureId, GirthLine, InstrumentId,
    MarkId, Measured, PointRef, Reading,
};
use samespot_core::read::table::{
    Encoding, Lay, Name, Names, Options, PlacedMark, Separator, Table, TableError, Understanding,
    decode, read_own, rows, separator_of, understand,
};
use samespot_core::units::{DecimalStyle, Length, Question, Unit};
use samespot_core::write::table::{readings, safe};

fn names() -> Names {
    let casting = |id: &str, name: &str| Name {
        id: CastingId::new(id).unwrap(),
        name: name.into(),
        part: None,
    };
    let face = |id: &str| Name {
        id: FaceId::new(id).unwrap(),
        name: id.into(),
        part: None,
    };
    let mark = |face: &str, letter: &str| PlacedMark {
        id: MarkId::new(&format!("{face}-{}", letter.to_lowercase())).unwrap(),
        face: FaceId::new(face).unwrap(),
        letter: letter.into(),
    };
    Names {
        castings: vec![casting("p7", "07"), casting("p8", "8"), casting("p9", "9")],
        faces: vec![face("front"), face("head-left")],
        marks: vec![
            mark("front", "A"),
            mark("front", "B"),
            mark("front", "C"),
            mark("head-left", "C"),
            mark("head-left", "D"),
        ],
        instruments: vec![Name {
            id: InstrumentId::new("soft-tape").unwrap(),
            name: "Soft tape".into(),
            part: None,
        }],
    }
}

fn table(bytes: &[u8]) -> Table {
    let (text, _) = decode(bytes).unwrap();
    Table::of(rows(&text, separator_of(&text)).unwrap())
}

fn taken(bytes: &[u8]) -> Understanding {
    let table = table(bytes);
    let opts = Options {
        unit: Unit::Mm,
        decimals: table.decimals(),
        lay: Lay::Over,
        instrument: None,
    };
    understand(&table, &names(), &opts).unwrap()
}

fn mm(u: &Understanding) -> Vec<f64> {
    u.found.iter().map(|f| f.reading.value.mm.mm()).collect()
}

fn why(u: &Understanding) -> Vec<(&str, &str)> {
    let all = u.not_kept.iter();
    all.map(|n| (n.typed.as_str(), n.why.as_str())).collect()
}

#[test]
fn c1_a_mark_before_utf8_is_no_part_of_the_first_name() {
    let u = taken(b"\xEF\xBB\xBFcasting,A-B\n07,18.5\n");
    assert_eq!(mm(&u), [18.5]);
    assert_eq!(u.found[0].reading.casting.as_str(), "p7");
    assert_eq!(u.found[0].reading.value.typed, "18.5");
    assert_eq!((u.found[0].line, u.found[0].column), (2, 2));
}

#[test]
fn c2_c3_c4_separators_are_found_whatever_the_decimal_mark() {
    let cases = [
        (
            "casting;A-B;A-C\n07;18,5;20,25\n8;19,5;21,25\n",
            Separator::Semicolon,
        ),
        (
            "casting\tA-B\tA-C\n07\t18,5\t20,25\n8\t19,5\t21,25\n",
            Separator::Tab,
        ),
        (
            "casting,A-B,A-C\n07,\"18,5\",\"20,25\"\n8,\"19,5\",\"21,25\"\n",
            Separator::Comma,
        ),
    ];
    // An inch mark is no quote: only at the start of a cell is it one, and doubled it stands for itself.
    let inches = "casting;A-B;A-C\n07;7 1/4\";18\n8;7 1/2\";19\n";
    assert_eq!(separator_of(inches), Separator::Semicolon);
    let doubled = "casting,note,A-B\n07,\"a \"\";\"\" b\",18\n8,\"c;\"\"\",19\n";
    assert_eq!(separator_of(doubled), Separator::Comma);
    for (text, separator) in cases {
        assert_eq!(separator_of(text), separator);
        let table = table(text.as_bytes());
        assert_eq!(table.decimals(), DecimalStyle::Comma);
        assert_eq!(mm(&taken(text.as_bytes())), [18.5, 20.25, 19.5, 21.25]);
    }
}

#[test]
fn c6_utf16_either_way_round_and_windows_1252() {
    let text = "casting;A–B\n07;18,5\n";
    let units: Vec<u16> = text.encode_utf16().collect();
    let le: Vec<u8> = units.iter().flat_map(|u| u.to_le_bytes()).collect();
    let be: Vec<u8> = units.iter().flat_map(|u| u.to_be_bytes()).collect();
    for bytes in [
        [&[0xFF, 0xFE][..], &le].concat(),
        [&[0xFE, 0xFF][..], &be].concat(),
        le,
    ] {
        assert_eq!(decode(&bytes).unwrap(), (text.to_owned(), Encoding::Utf16));
        assert_eq!(mm(&taken(&bytes)), [18.5]);
    }
    // An en dash is 0x96 there, ± is 0xB1.
    let old = decode(b"A\x96B;\xB11\n").unwrap();
    assert_eq!(old, ("A–B;±1\n".to_owned(), Encoding::Windows1252));
    assert_eq!(decode(b"a\nb\x81"), Err(TableError::NoText { line: 2 }));
}

#[test]
fn c7_titles_a_merged_head_a_units_row_and_totals_are_no_data() {
    let text = "Quay run\n,\nMeasured in May\ncasting;A-B;;A-C\n;mm;;in\n07;18;;2\n8;19;;3\nMean;18.5;;2.5\n";
    let table = table(text.as_bytes());
    assert_eq!(table.columns(), ["casting", "A-B", "", "A-C"]);
    assert_eq!(table.totals().map(|row| row.line).collect::<Vec<_>>(), [8]);
    assert_eq!(mm(&taken(text.as_bytes())), [18.0, 50.8, 19.0, 76.2]);
    let other = Table { head: 0, ..table };
    assert_eq!(other.columns(), ["Quay run"]);
}

#[test]
fn c9_a_casting_named_twice_is_kept_from_no_row_and_noughts_are_kept() {
    let u = taken(b"casting,A-B\n07,18\n7,19\n07 ,20\n8,21\n");
    assert_eq!(mm(&u), [21.0]);
    assert_eq!(
        u.not_kept.iter().map(|n| n.line).collect::<Vec<_>>(),
        [2, 3, 4]
    );
    assert_eq!(u.not_kept[2].typed, "07 ");
    // 7 alone is not 07.
    let u = taken(b"casting,A-B\n7,19\n");
    assert!(u.found.is_empty() && u.not_kept[0].why.contains("No casting here is called 7"));
}

#[test]
fn c11_what_is_no_measurement_is_refused_with_why_and_kept_as_typed() {
    let cells = [
        ("1.25E+02", "program"),
        ("#REF!", "spreadsheet itself"),
        ("=A1+2", "formula"),
        ("'-12", "apostrophe"),
        ("01-Mar", "date"),
        ("3/4/2026", "date"),
        ("2026-03-04", "date"),
        ("-12", ""),
    ];
    for (cell, word) in cells {
        let u = taken(format!("casting;A-B\n07;{cell}\n").as_bytes());
        assert!(u.found.is_empty(), "{cell}");
        let all = why(&u);
        assert_eq!(all[0].0, cell);
        assert!(
            all[0].1.contains(word) && !all[0].1.is_empty(),
            "{cell}: {}",
            all[0].1
        );
    }
}

#[test]
fn c12_columns_go_by_name_in_any_order_and_two_of_one_name_by_none() {
    let u = taken(b"head-left C-D,Colour,A B,No\n30,red,18,07\n");
    assert_eq!(mm(&u), [30.0, 18.0]);
    assert_eq!(u.unused, ["Colour"]);
    let Measured::Over { from, .. } = &u.found[0].reading.of else {
        panic!("laid on the surface");
    };
    assert_eq!(*from, PointRef::Mark(MarkId::new("head-left-c").unwrap()));
    let u = taken(b"casting,A-B,A-B,A-C\n07,1,2,3\n");
    assert_eq!(mm(&u), [3.0]);
    assert_eq!(u.not_kept.len(), 2);
    for none in [
        &b"A-B\n18\n"[..],
        b"casting,size\n07,18\n",
        b"casting,from,to\n07,A,B\n",
    ] {
        let table = table(none);
        let opts = Options {
            unit: Unit::Mm,
            decimals: DecimalStyle::Point,
            lay: Lay::Over,
            instrument: None,
        };
        assert!(understand(&table, &names(), &opts).is_err());
    }
}

#[test]
fn one_row_a_reading_with_its_own_face_instrument_and_unit() {
    let u = taken(
        b"casting,face,from,to,value (cm),instrument\n07,front,A,B,18.5,Soft tape\n07,front,A,C,7 1/4 in,\n07,,C,D,3,Spoon\n07,,A,D,3,\n",
    );
    assert_eq!(mm(&u), [185.0, 184.15]);
    let tool = u.found[0].reading.instrument.as_ref().unwrap();
    assert_eq!(tool.as_str(), "soft-tape");
    assert_eq!(
        u.not_kept.iter().map(|n| n.line).collect::<Vec<_>>(),
        [4, 5]
    );
}

#[test]
fn what_may_mean_two_things_is_asked_and_nothing_is_zero() {
    let u = taken(b"casting;A-B;A-C\n07;1,250;\n8;18.5;2\n");
    assert_eq!(u.asked.len(), 1);
    assert_eq!(u.asked[0].0, Question::ThousandsOrDecimals);
    assert_eq!(u.blank, 1);
    assert_eq!(mm(&u), [18.5, 2.0]);
}

#[test]
fn c14_what_is_broken_or_too_much_says_on_which_line() {
    let quote = "casting,A-B\n07,\"18\n8,19\n";
    assert_eq!(
        rows(quote, Separator::Comma),
        Err(TableError::QuoteNotClosed { line: 2 })
    );
    assert_eq!(
        decode(b"casting,A-B\r\n07,1\x008\r\n"),
        Err(TableError::NoText { line: 2 })
    );
    assert_eq!(mm(&taken(b"casting,A-B\r07,18\r8,19\r")), [18.0, 19.0]);
    let many = "07,18\n".repeat(50_000);
    let at = TableError::TooManyRows {
        line: 20_001,
        most: 20_000,
    };
    assert_eq!(rows(&many, Separator::Comma), Err(at));
    let wide = format!("a\n{}", ",".repeat(50_000));
    let at = TableError::TooManyCells { line: 2, most: 200 };
    assert_eq!(rows(&wide, Separator::Comma), Err(at));
}

#[test]
fn c16_formulas_are_made_harmless_and_negative_numbers_left_alone() {
    let cases = [
        ("=A1", "'=A1"),
        ("+12", "'+12"),
        ("@x", "'@x"),
        ("\tx", "'\tx"),
        ("-x", "'-x"),
        ("-1+2", "'-1+2"),
        ("'x", "''x"),
        ("-12", "-12"),
        ("-12.5", "-12.5"),
        ("±1", "±1"),
    ];
    for (text, out) in cases {
        assert_eq!(safe(text), out);
    }
}

fn point() -> impl Strategy<Value = PointRef> {
    prop_oneof![
        "[a-z0-9-]{1,12}".prop_map(|id| PointRef::Mark(MarkId::new(&id).unwrap())),
        "[a-z0-9-]{1,12}".prop_map(|id| PointRef::Feature(FeatureId::new(&id).unwrap())),
    ]
}

fn measured() -> impl Strategy<Value = Measured> {
    prop_oneof![
        (point(), point()).prop_map(|(from, to)| Measured::Straight { from, to }),
        (point(), point()).prop_map(|(from, to)| Measured::Over { from, to }),
        ("[a-z]{1,9}", point()).prop_map(|(edge, to)| Measured::Square {
            edge: EdgeId::new(&edge).unwrap(),
            to,
        }),
        (point(), any::<bool>()).prop_map(|(of, up)| Measured::Coordinate {
            of,
            axis: if up { FaceAxis::V } else { FaceAxis::U },
        }),
        (point(), 0_usize..3, 0_u32..3).prop_map(|(of, axis, stood)| Measured::Board {
            of,
            axis: [BoardAxis::Across, BoardAxis::Back, BoardAxis::Up][axis],
            stood,
        }),
        ("[a-z]{1,9}", any::<bool>()).prop_map(|(face, up)| Measured::Girth {
            face: FaceId::new(&face).unwrap(),
            at: if up {
                GirthLine::Upper
            } else {
                GirthLine::Lower
            },
        }),
    ]
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof!["[-=+@',;\"\t\r\n ±°0-9A-z]{1,12}", "[^\0]{1,12}"]
}

proptest! {
    /// C16: whatever was typed, the project's own export reads back to the same readings.
    #[test]
    fn an_export_reads_back_exactly(
        of in measured(),
        typed in any_text(),
        mm in -1e6..1e6_f64,
        unit in proptest::option::of(any_text()),
        rule in proptest::option::of(any_text()),
        stage in proptest::option::of(any_text()),
        aside in proptest::option::of(any_text()),
        within in proptest::option::of(0.0..10.0_f64),
        hooked: bool,
        times in 1_usize..4,
    ) {
        let reading = Reading {
            casting: CastingId::new("p7").unwrap(),
            of,
            value: Entry { typed, mm: Length::from_mm(mm), unit, rule },
            instrument: hooked.then(|| InstrumentId::new("soft-tape").unwrap()),
            hooked,
            stage,
            within: within.map(Length::from_mm),
            set_aside: aside,
        };
        let all = vec![reading; times];
        let file = readings(&all);
        let (text, encoding) = decode(file.as_bytes()).unwrap();
        prop_assert_eq!(encoding, Encoding::Utf8);
        prop_assert_eq!(read_own(&text).unwrap(), all);
    }

    /// Nothing from outside stops the reader, and every line it names is there.
    #[test]
    fn any_bytes_are_a_table_or_a_reason(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        if let Ok((text, _)) = decode(&bytes) {
            for separator in [Separator::Tab, Separator::Semicolon, Separator::Comma] {
                let _ = separator_of(&text);
                for row in rows(&text, separator).unwrap_or_default() {
                    prop_assert!(row.line <= 1 + text.matches(['\r', '\n']).count());
                }
            }
        }
    }
}
