//! Files as they are sent: beside each that shrinks lies a copy by brotli (RFC 7932) and one by gzip
//! (RFC 1952), under the names that static servers look for.

use std::io::Write as _;
use std::num::NonZero;
use std::sync::Mutex;
use std::thread;

use crate::files::{Tree, extension};
use crate::fingerprint::sha256;
use crate::{Outcome, files, process};

type Packer = fn(&[u8]) -> Vec<u8>;

/// Ways to pack, each with the ending that it adds to a name. The server looks for the same.
const ENDINGS: [(&str, Packer); 2] = [("br", brotli), ("gz", gzip)];

/// What browsers ask for often enough, and what is not packed already.
fn shrinks(path: &str) -> bool {
    matches!(
        extension(path),
        "html" | "css" | "js" | "wasm" | "json" | "webmanifest" | "svg"
    )
}

/// The copies to be laid beside the files of `tree`. Packing well is slow (some seconds a megabyte),
/// so what was packed before is kept in the target folder under the hash of what is in it.
///
/// # Errors
/// When what is kept cannot be read or written.
pub(crate) fn beside(tree: &Tree) -> Outcome<Tree> {
    let kept = process::target_dir()?.join("packed");
    let before = if kept.is_dir() {
        files::read_tree(&kept)?
    } else {
        Tree::new()
    };
    let (beside, keep) = packed(tree, &before);
    files::write_tree(&kept, &keep)?;
    Ok(beside)
}

/// The copies, and all that was packed by the hash of what is in it; taken from `before` where it is
/// there.
fn packed(tree: &Tree, before: &Tree) -> (Tree, Tree) {
    let mut wanted = Vec::new();
    for (path, bytes) in tree.iter().filter(|(path, _)| shrinks(path)) {
        let hash = sha256(bytes);
        for (ending, pack) in ENDINGS {
            wanted.push((path, bytes, format!("{hash}.{ending}"), ending, pack));
        }
    }
    // The largest first, so that none is left over for one thread alone.
    wanted.sort_by_key(|(_, bytes, ..)| bytes.len());
    let made = Mutex::new((wanted, Tree::new(), Tree::new()));
    let work = || {
        loop {
            let Some((path, bytes, name, ending, pack)) = locked(&made).0.pop() else {
                break;
            };
            let packed = before.get(&name).cloned().unwrap_or_else(|| pack(bytes));
            let mut made = locked(&made);
            if packed.len() < bytes.len() {
                made.1.insert(format!("{path}.{ending}"), packed.clone());
            }
            made.2.insert(name, packed);
        }
    };
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(work);
        }
    });
    let (_, beside, keep) = made
        .into_inner()
        .unwrap_or_else(|broken| broken.into_inner());
    (beside, keep)
}

fn locked<T>(held: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    held.lock().unwrap_or_else(|broken| broken.into_inner())
}

fn brotli(bytes: &[u8]) -> Vec<u8> {
    let mut packed = Vec::new();
    let best = brotli::enc::BrotliEncoderParams::default();
    // Writing to memory fails only where there is none.
    let _ = brotli::BrotliCompress(&mut &bytes[..], &mut packed, &best);
    packed
}

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    let _ = packed.write_all(bytes);
    packed.finish().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;
    use std::io::Read as _;

    #[test]
    fn what_is_packed_comes_out_as_it_was() {
        let text = "the same spot on every piece; ".repeat(500).into_bytes();
        for bytes in [&text[..], b"", b"\0asm"] {
            let mut back = Vec::new();
            brotli::BrotliDecompress(&mut &brotli(bytes)[..], &mut back).unwrap();
            assert_eq!(back, bytes);
            let mut back = Vec::new();
            let packed = gzip(bytes);
            flate2::read::GzDecoder::new(&packed[..])
                .read_to_end(&mut back)
                .unwrap();
            assert_eq!(back, bytes);
        }
        // Read back by the test above, and by what it begins with: RFC 1952, section 2.3.1.
        assert_eq!(gzip(&text)[..3], [0x1f, 0x8b, 8]);
        assert!(brotli(&text).len() < gzip(&text).len());
    }

    #[test]
    fn only_what_shrinks_gets_a_copy() {
        let text = "a{color:red}".repeat(50).into_bytes();
        let tree = Tree::from([
            ("styles/main.css".to_owned(), text.clone()),
            ("tiny.js".to_owned(), b"x".to_vec()),
            ("fonts/f.woff2".to_owned(), text),
        ]);
        let (made, kept) = packed(&tree, &Tree::new());
        let names: Vec<&str> = made.keys().map(String::as_str).collect();
        assert_eq!(names, ["styles/main.css.br", "styles/main.css.gz"]);
        // What is kept is taken, not packed anew.
        let marked: Tree = kept.into_keys().map(|name| (name, vec![7])).collect();
        let (again, _) = packed(&tree, &marked);
        assert_eq!(again["styles/main.css.br"], [7]);
    }
}
