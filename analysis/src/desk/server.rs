//! The desk opened, served and closed.

use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use breathroom_sim::scenario;
use breathroom_sim::text::{Texts, parse};

use super::files::Reads;
use super::state::Desk;
use super::work::Runner;
use super::{guard, routes, work};
use crate::results::{reason, unsaved_file};

/// How often the server looks whether it is to end.
const LOOK_EVERY: Duration = Duration::from_millis(20);
/// How long requests under way have to end.
const LAST: Duration = Duration::from_millis(500);

/// What the desk is opened with.
#[derive(Debug)]
pub struct Opening {
    /// The scenario file; none for the starter, unnamed, in the folder the program is in.
    pub file: Option<PathBuf>,
    /// The port; 0 for any that is free.
    pub port: u16,
    /// Reads a file of at most so many bytes; the error says why it cannot be read.
    pub reads: Reads,
}

/// A desk with its address, not served yet.
pub struct Bound {
    desk: Arc<Desk>,
    listener: TcpListener,
    token: String,
    port: u16,
}

/// What was left when the desk was closed.
#[derive(Debug, Default)]
pub struct Left {
    /// Files of changes that had not been saved.
    pub written: Vec<PathBuf>,
    /// Changes that could not be written: why.
    pub lost: Vec<String>,
}

impl Bound {
    /// Opens a desk on this machine alone.
    ///
    /// # Errors
    /// If the file cannot be read or is not TOML at all, or the port is not to be had; rendered where it is of the file.
    pub fn open(opening: &Opening) -> Result<Self, String> {
        Self::with(opening, Runner::default())
    }

    pub(super) fn with(opening: &Opening, runner: Runner) -> Result<Self, String> {
        let (folder, name, text) = match &opening.file {
            None => (PathBuf::new(), None, scenario::starter()),
            Some(file) => {
                let name = file.file_name().map(|name| name.to_string_lossy().into_owned());
                let content = (opening.reads)(file, scenario::MAX_BYTES)?;
                let shown = file.display().to_string();
                let text = scenario::decode(&content, &shown).map_err(|fault| fault.render())?;
                toml(&shown, text)?;
                let folder = file.parent().map(PathBuf::from).unwrap_or_default();
                (folder, name, text.to_owned())
            }
        };
        let desk = Desk::new(folder, name, text, opening.reads, runner);
        let refused = |error: std::io::Error| match opening.port {
            0 => format!("cannot listen on this machine: {}", reason(&error)),
            port => format!(
                "cannot listen on port {port}: {}; without --port a free one is taken",
                reason(&error)
            ),
        };
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, opening.port));
        let listener = TcpListener::bind(address).map_err(refused)?;
        listener.set_nonblocking(true).map_err(refused)?;
        let port = listener.local_addr().map_err(refused)?.port();
        Ok(Self {
            desk,
            listener,
            token: guard::token()?,
            port,
        })
    }

    /// Where a browser finds it.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.port, self.token)
    }

    /// Serves until `stop` is set; changes that were not saved are then written beside the scenario.
    ///
    /// # Errors
    /// If the server cannot be started.
    pub fn serve(self, stop: &AtomicBool) -> Result<Left, String> {
        let failed = |error: std::io::Error| format!("cannot start the server: {}", reason(&error));
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_io()
            .enable_time()
            .max_blocking_threads(16)
            .build()
            .map_err(failed)?;
        let router = routes::router(self.desk.clone(), &self.token, self.port);
        let supervisor = work::start(&self.desk)?;
        let listener = self.listener;
        let served = runtime.block_on(async {
            let listener = tokio::net::TcpListener::from_std(listener).map_err(failed)?;
            let server = tokio::spawn(async move { axum::serve(listener, router).await });
            while !stop.load(Ordering::SeqCst) && !server.is_finished() {
                tokio::time::sleep(LOOK_EVERY).await;
            }
            server.abort();
            Ok::<(), String>(())
        });
        runtime.shutdown_timeout(LAST);
        self.desk.end();
        // It waits for nothing but the state; runs under way are left behind.
        let _it_ended = supervisor.join();
        served?;
        Ok(left(&self.desk))
    }
}

/// Refuses a text that is no TOML: forms cannot be made of it.
fn toml(name: &str, text: &str) -> Result<(), String> {
    let mut texts = Texts::new(name, text, &[]);
    if parse(&mut texts, text).broken.is_empty() {
        return Ok(());
    }
    let faults: String = texts.faults.iter().map(|fault| fault.render() + "\n").collect();
    Err(format!(
        "{faults}{name} is not TOML, so there is nothing to show: mend it in an editor first\n"
    ))
}

fn left(desk: &Desk) -> Left {
    let mut left = Left::default();
    for (stem, text) in desk.unsaved() {
        match unsaved_file(&desk.folder, &stem, text.as_bytes()) {
            Ok(file) => left.written.push(file),
            Err(error) => left.lost.push(error.to_string()),
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_that_is_no_toml_is_refused_with_its_place() {
        let said = toml("a.toml", "a = [1\nb = 2\n").expect_err("not TOML");
        assert!(
            said.contains("--> a.toml:") && said.ends_with("in an editor first\n"),
            "{said}"
        );
        assert_eq!(toml("a.toml", "nonsense = \"but TOML\"\n"), Ok(()));
    }
}
