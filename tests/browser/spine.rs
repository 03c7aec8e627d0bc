//! The shortest way to a right sheet, and the finisher's way, as people go them.

use std::fs;
use std::path::Path;

use crate::browser::Screen;
use crate::page::Page;
use crate::walk::walk;

/// Somebody at the tablet, whose taps and typed numbers are counted.
struct Somebody<'a> {
    page: &'a Page<'a>,
    taps: usize,
    numbers: usize,
}

impl Somebody<'_> {
    #[track_caller]
    fn tap(&mut self, text: &str) {
        self.taps += 1;
        self.page.tap_text(text);
    }

    #[track_caller]
    fn at(&mut self, selector: &str) {
        self.taps += 1;
        self.page.tap(selector);
    }

    /// Types into the field that has the cursor already.
    #[track_caller]
    fn types(&mut self, field: &str, number: &str) {
        self.numbers += 1;
        let here = format!("document.activeElement?.matches({field:?})");
        self.page.wait_for(&here);
        self.page.insert(number);
    }

    #[track_caller]
    fn fills(&mut self, field: &str, number: &str) {
        self.at(field);
        self.types(field, number);
    }
}

/// The media box of every page, and the length of the longest straight stroke across and up, mm.
#[track_caller]
fn measured(pdf: &Path) -> Vec<([f64; 2], [f64; 2])> {
    let text = fs::read(pdf).unwrap();
    assert!(text.starts_with(b"%PDF-"), "{} is no PDF", pdf.display());
    let document = lopdf::Document::load_mem(&text).unwrap();
    let number = |o: &lopdf::Object| f64::from(o.as_float().unwrap_or_default());
    let mm = 25.4 / 72.0;
    document
        .get_pages()
        .values()
        .map(|id| {
            let page = document.get_dictionary(*id).unwrap();
            let sheet = page.get(b"MediaBox").unwrap().as_array().unwrap();
            let size = [number(&sheet[2]) * mm, number(&sheet[3]) * mm];
            let content = document.get_and_decode_page_content(*id).unwrap();
            let (mut at, mut longest) = ([0.0; 2], [0.0_f64; 2]);
            let mut scale = 1.0;
            for op in &content.operations {
                let n: Vec<f64> = op.operands.iter().map(number).collect();
                match (op.operator.as_str(), n.as_slice()) {
                    ("cm", [a, 0.0, 0.0, _, ..]) => scale *= a,
                    ("m", [x, y]) => at = [*x, *y],
                    ("l", [x, y]) => {
                        let by = [(x - at[0]).abs(), (y - at[1]).abs()];
                        for way in 0..2 {
                            if by[1 - way] == 0.0 {
                                longest[way] = longest[way].max(by[way] * scale * mm);
                            }
                        }
                        at = [*x, *y];
                    }
                    _ => {}
                }
            }
            (size, longest)
        })
        .collect()
}

#[test]
fn from_nothing_to_a_true_size_sheet_offline() {
    walk("spine", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.reload();
        page.wait_started();

        let mut i = Somebody {
            page: &page,
            taps: 0,
            numbers: 0,
        };
        i.at("a.way.quick");
        i.at("[data-value=oval]");
        i.types("#across", "62");
        i.fills("#up", "48");
        i.tap("Next: what it lies on");
        i.at("[data-value=dome]");
        i.types("#girth", "942");
        i.tap("Next: two marks");
        i.types("#ab", "180");
        i.fills("#ac", "112");
        i.fills("#bc", "108");
        // The side is the card's last answer: the next card opens, with the cursor in its field.
        i.at("[data-value=above]");
        i.types("#piece-ab", "181.5");
        page.picture("typed");
        let pdf = page.download(|_| i.tap("Download PDF"));
        assert!(i.numbers <= 8, "{} numbers", i.numbers);
        assert!(i.taps <= 15, "{} taps", i.taps);
        let pages = measured(&pdf);
        assert!(!pages.is_empty());
        for (sheet, bars) in &pages {
            // A4 (ISO 216) either way up, which PDF gives in 1/72 inch.
            let long = usize::from(sheet[1] > sheet[0]);
            let (short_mm, long_mm) = (sheet[1 - long], sheet[long]);
            assert!(
                (short_mm - 210.0).abs() < 0.01 && (long_mm - 297.0).abs() < 0.01,
                "{sheet:?}"
            );
            // Bars of A4: 150 the short way and 250 the long way (design/04), or longer lines.
            assert!(bars[1 - long] >= 149.99 && bars[long] >= 249.99, "{bars:?}");
        }
        page.picture("downloaded");

        // The next piece costs one number.
        let mut i = Somebody {
            page: &page,
            taps: 0,
            numbers: 0,
        };
        i.tap("Piece 2: one number");
        i.fills("#piece-ab", "178");
        let second = page.download(|_| i.tap("Download PDF"));
        assert_eq!(i.numbers, 1);
        assert!(i.taps <= 3, "{} taps", i.taps);
        assert_ne!(fs::read(&second).unwrap(), fs::read(&pdf).unwrap());
        assert!(!measured(&second).is_empty());
        page.picture("second");

        // All of it is still there when the tablet has been dropped.
        page.wait_for("document.body.innerText.includes('Saved')");
        w.pull_the_plug();
        let page = w.open("");
        page.wait_started();
        page.wait_for_text("Oval 62 × 48");
    });
}

#[test]
fn the_finishers_way() {
    walk("finisher", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        let mut i = Somebody {
            page: &page,
            taps: 0,
            numbers: 0,
        };
        // The example stands for the job that a workshop has open.
        i.at(".ways a.way:first-child");
        i.at(".run a[href*='/p/p7']");
        page.picture("piece-7");
        i.at("nav.features a[href$='/eye-left']");
        assert!(i.taps <= 3, "{} taps to the thing itself", i.taps);
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.picture("eye-left");
        let pdf = page.download(|page| page.tap_text("Download PDF"));
        let pages = measured(&pdf);
        assert!(!pages.is_empty());
        let name = pdf.file_name().unwrap().to_string_lossy().into_owned();
        assert!(name.contains('7'), "{name}");
    });
}
