//! Damages inputs of a reader for some minutes, in a process of its own with a cap on memory and on
//! the time for each: what panics, hangs or asks for too much is kept in its corpus.
//!
//! ```text
//! cargo run -p samespot-tests --features artwork --bin mutations -- READER MINUTES [FIRST]
//! ```
//! The number of a finding makes it again: `mutations one READER NUMBER`.

#![allow(
    clippy::panic,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool for those who build this"
)]

use samespot_tests::mutation::Chance;
use samespot_tests::mutation::readers::{Reader, all};
use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// Memory a reader may have, kB: more than the largest input it takes, less than a tablet has.
const MEMORY_KB: u64 = 1_500_000;
/// Longer than this for one input of a few thousand bytes is a hang: ten times what the slowest takes
/// in a build without optimisation.
const LONGEST: Duration = Duration::from_secs(20);

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["child", name, from] => child(&reader(name), from.parse().expect("a number")),
        ["one", name, number] => {
            let reader = reader(name);
            let input = input(&reader, number.parse().expect("a number"));
            println!("{:?}", (reader.read)(&input));
        }
        ["photograph"] => photograph(),
        [name, minutes] => parent(&reader(name), minutes, 0),
        [name, minutes, first] => parent(&reader(name), minutes, first.parse().expect("a number")),
        _ => println!("mutations READER MINUTES [FIRST]"),
    }
}

/// Makes the photograph of a tracing frame that is damaged; poppler is needed for it.
fn photograph() {
    use samespot_core::sheet::{Paper, tracing_frame};
    use samespot_core::write::pdf::{Part, pdf};
    use samespot_tests::photograph::{Camera, Sheet, pen};
    let drawing = tracing_frame(Paper::A4).expect("a frame");
    let part = Part {
        bookmark: "tracing frame",
        drawing: &drawing,
    };
    let file = std::env::temp_dir().join("tracing-frame.pdf");
    std::fs::write(&file, pdf(&drawing.title, &[part]).expect("a page")).unwrap();
    let mut sheet = Sheet::of_pdf(&file).expect("poppler");
    sheet.draw(|x, y| pen((x - 104.0).hypot(y - 150.0) - 35.0, 2.0));
    let camera = Camera {
        size: (600, 800),
        focal: 1160.0,
        noise: 1.0,
        ..Camera::held()
    };
    let folder = reader("photo").folder();
    std::fs::create_dir_all(&folder).unwrap();
    let png = camera.png(&sheet);
    let picture = image::load_from_memory(&png).unwrap();
    picture.save(folder.join("frame.jpg")).unwrap();
    std::fs::write(folder.join("frame.png"), png).unwrap();
}

fn reader(name: &str) -> Reader {
    all()
        .into_iter()
        .find(|r| r.name == name)
        .unwrap_or_else(|| panic!("no reader {name}: is it in this build?"))
}

fn input(reader: &Reader, number: u64) -> Vec<u8> {
    let seeds = reader.seeds();
    let mut chance = Chance::of(number);
    let whole = chance.of_all(&seeds).cloned().unwrap_or_default();
    (reader.damaged)(&whole, &mut chance)
}

fn child(reader: &Reader, from: u64) {
    let seeds = reader.seeds();
    // Where it panics tells one finding from another.
    let place = std::sync::Arc::new(std::sync::Mutex::new(String::new()));
    let told = std::sync::Arc::clone(&place);
    std::panic::set_hook(Box::new(move |info| {
        let at = info.location().map(ToString::to_string);
        if let Ok(mut place) = told.lock() {
            *place = at.unwrap_or_default();
        }
    }));
    let mut out = std::io::stdout().lock();
    for number in from.. {
        let mut chance = Chance::of(number);
        let whole = chance.of_all(&seeds).cloned().unwrap_or_default();
        let input = (reader.damaged)(&whole, &mut chance);
        writeln!(out, "at {number}").unwrap();
        out.flush().unwrap();
        let read = reader.read;
        let began = Instant::now();
        let came = std::panic::catch_unwind(|| read(&input));
        let took = began.elapsed().as_millis();
        match came {
            Err(why) => {
                let said = why
                    .downcast_ref::<String>()
                    .cloned()
                    .or_else(|| why.downcast_ref::<&str>().map(|s| (*s).to_owned()));
                let at = place.lock().map(|p| p.clone()).unwrap_or_default();
                let said = said.unwrap_or_default().replace('\n', " ");
                writeln!(out, "panic {number} {at}: {said}").unwrap();
            }
            Ok(read) => writeln!(out, "did {took} {}", u8::from(read.is_ok())).unwrap(),
        }
    }
}

fn parent(reader: &Reader, minutes: &str, first: u64) {
    let minutes: f64 = minutes.parse().expect("minutes");
    let until = Instant::now() + Duration::from_secs_f64(minutes * 60.0);
    let (mut from, mut tried, mut read) = (first, 0_u64, 0_u64);
    // Milliseconds, and which.
    let mut slowest = (0_u128, first);
    let mut findings: Vec<String> = Vec::new();
    while Instant::now() < until {
        let me = std::env::current_exe().unwrap();
        let mut run = Command::new("sh")
            .arg("-c")
            .arg(format!(
                "ulimit -v {MEMORY_KB}; exec \"$0\" child \"$1\" \"$2\""
            ))
            .arg(me)
            .args([reader.name, &from.to_string()])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let (say, hear) = mpsc::channel();
        let lines = BufReader::new(run.stdout.take().unwrap()).lines();
        std::thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                if say.send(line).is_err() {
                    break;
                }
            }
        });
        let mut at = from;
        let ended = loop {
            if Instant::now() >= until {
                break None;
            }
            match hear.recv_timeout(LONGEST) {
                Ok(line) => {
                    let mut words = line.split(' ');
                    match (words.next(), words.next()) {
                        (Some("at"), Some(n)) => at = n.parse().unwrap_or(at),
                        (Some("did"), Some(ms)) => {
                            tried += 1;
                            read += u64::from(words.next() == Some("1"));
                            slowest = slowest.max((ms.parse().unwrap_or(0), at));
                        }
                        (Some("panic"), Some(_)) => {
                            tried += 1;
                            let said = words.collect::<Vec<_>>().join(" ");
                            if !findings.contains(&said) {
                                keep(reader, at, &format!("panics: {said}"));
                                findings.push(said);
                            }
                        }
                        _ => {}
                    }
                }
                Err(mpsc::RecvTimeoutError::Timeout) => break Some("hangs"),
                Err(mpsc::RecvTimeoutError::Disconnected) => {
                    break Some("asks for too much, or overflows the stack");
                }
            }
        };
        let _ = run.kill();
        let _ = run.wait();
        if let Some(how) = ended {
            keep(reader, at, how);
            findings.push(how.to_owned());
        }
        from = at + 1;
    }
    println!(
        "{}: {tried} damaged inputs from number {first}, {read} of them read, slowest {} ms ({}), {} findings",
        reader.name,
        slowest.0,
        slowest.1,
        findings.len()
    );
}

fn keep(reader: &Reader, number: u64, how: &str) {
    println!("{} {number} {how}", reader.name);
    let folder = reader.folder();
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(
        folder.join(format!("found-{number}")),
        input(reader, number),
    )
    .unwrap();
}
