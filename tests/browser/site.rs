//! The static site that the browser visits, stopped and started at will.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use crate::server::{Seen, Server};

pub(crate) struct Site {
    /// Every request that reached the server, also across stops.
    seen: Arc<Mutex<Vec<Seen>>>,
    url: String,
    server: RefCell<Option<Server>>,
}

/// What `cargo xtask build` left.
pub(crate) fn dist() -> PathBuf {
    let dist = match std::env::var_os("SAMESPOT_DIST") {
        Some(named) => PathBuf::from(named),
        None => Path::new(env!("CARGO_MANIFEST_DIR")).join("../dist"),
    };
    assert!(
        dist.join("index.html").is_file(),
        "there is no build in {}: run `cargo xtask build` first",
        dist.display()
    );
    dist
}

impl Site {
    pub(crate) fn start(folder: &Path) -> Self {
        let seen = Arc::new(Mutex::new(Vec::new()));
        let server = serve(folder, 0, &seen);
        Self {
            seen,
            url: server.url(),
            server: RefCell::new(Some(server)),
        }
    }

    /// The address of the page, with the closing slash.
    pub(crate) fn url(&self) -> &str {
        &self.url
    }

    /// Makes the network go away. (Emulated offline does not reach a service worker's fetches.)
    pub(crate) fn stop(&self) {
        self.server.replace(None);
    }

    /// Serves `folder` at the same address as before.
    pub(crate) fn start_again(&self, folder: &Path) {
        self.stop();
        let port = self.url.trim_end_matches('/').rsplit(':').next();
        let port = port.and_then(|port| port.parse().ok()).unwrap();
        self.server.replace(Some(serve(folder, port, &self.seen)));
    }

    /// Paths asked for so far, with their answers.
    pub(crate) fn seen(&self) -> Vec<Seen> {
        self.seen.lock().unwrap().clone()
    }
}

fn serve(folder: &Path, port: u16, seen: &Arc<Mutex<Vec<Seen>>>) -> Server {
    let seen = Arc::clone(seen);
    Server::start(folder, port, move |request| {
        seen.lock().unwrap().push(request.clone());
    })
    .unwrap()
}
