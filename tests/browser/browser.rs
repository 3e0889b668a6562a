//! A browser with one page, asked and moved step by step.
//!
//! Whatever fails here panics with what was asked: a test has nothing else to do then. What is not used by one test is by another.

#![allow(dead_code)]

use std::cell::{Cell, RefCell};
use std::future::Future;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use fantoccini::Client;
use fantoccini::actions::{InputSource as _, KeyAction, KeyActions, MOUSE_BUTTON_LEFT, MouseActions, PointerAction};
use fantoccini::wd::{Capabilities, WebDriverCompatibleCommand};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use tempfile::TempDir;
use tokio::runtime::{Builder, Runtime};

use super::driver::{Driver, end_group};

/// Most that anything here is waited for.
const PATIENCE: Duration = Duration::from_secs(30);

/// How often is looked.
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// No window, nothing of the user's, nothing from the network.
const FLAGS: [&str; 10] = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
];

/// How a page is looked at.
#[derive(Clone, Copy, Debug, Default)]
struct Media {
    dark: bool,
    print: bool,
}

/// A browser with one page.
pub struct Browser {
    runtime: Runtime,
    /// Taken when it ends.
    client: Option<Client>,
    /// The browser's own process.
    process: Option<u32>,
    media: Cell<Media>,
    /// Severe entries of the console so far: reading them takes them away there.
    severe: RefCell<Vec<String>>,
    // Fields are dropped in this order: the driver before the folder in which its browser writes.
    _driver: Driver,
    _profile: TempDir,
}

impl Browser {
    /// Starts one, 1280 pixels by 900, in light colours.
    ///
    /// # Panics
    /// If there is no chromedriver or no browser.
    pub fn start() -> Self {
        let profile = tempfile::tempdir().expect("a folder");
        let driver = Driver::start();
        let runtime = Builder::new_current_thread().enable_all().build().expect("a runtime");
        let capabilities = capabilities(profile.path());
        let address = driver.address();
        let asked = Client::with_capabilities_and_connector(&address, &capabilities, HttpConnector::new());
        let client = runtime.block_on(within(asked));
        let client = client.unwrap_or_else(|error| panic!("no session: {error}"));
        let process = client
            .capabilities()
            .and_then(|has| has.get("goog:processID")?.as_u64())
            .and_then(|id| u32::try_from(id).ok());
        let browser = Self {
            runtime,
            client: Some(client),
            process,
            media: Cell::default(),
            severe: RefCell::default(),
            _driver: driver,
            _profile: profile,
        };
        browser.size(1280, 900);
        browser.look(Media::default());
        // Some versions without a window take their page for one in the background, where nothing has the focus.
        browser.devtools("Emulation.setFocusEmulationEnabled", &json!({ "enabled": true }));
        browser
    }

    /// Opens a file and waits until it has loaded.
    pub fn open(&self, file: &Path) {
        let file = std::fs::canonicalize(file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        let address = url::Url::from_file_path(&file).expect("a whole path");
        self.open_address(address.as_str());
    }

    /// Opens an address and waits until it has loaded.
    pub fn open_address(&self, address: &str) {
        self.must(address, self.client().goto(address));
    }

    /// Severe entries of the console since the start: errors of scripts, what could not be loaded, `console.error`.
    pub fn errors(&self) -> Vec<String> {
        let entries = self.ask("se/log", json!({ "type": "browser" }));
        let entries = entries.as_array().expect("a list of entries").clone();
        let severe = entries.iter().filter(|entry| entry["level"] == "SEVERE");
        let mut all = self.severe.borrow_mut();
        all.extend(severe.map(|entry| entry["message"].as_str().unwrap_or_default().to_owned()));
        all.clone()
    }

    /// What an expression is, as JSON; a promise is waited for.
    pub fn js(&self, expression: &str) -> Value {
        self.must(
            expression,
            self.client().execute(&format!("return ({expression});"), vec![]),
        )
    }

    /// What an expression is, as a number.
    pub fn number(&self, expression: &str) -> f64 {
        let value = self.js(expression);
        value
            .as_f64()
            .unwrap_or_else(|| panic!("{expression} is {value}, no number"))
    }

    /// What an expression is, as a text.
    pub fn text(&self, expression: &str) -> String {
        let value = self.js(expression);
        let text = value.as_str().map(str::to_owned);
        text.unwrap_or_else(|| panic!("{expression} is {value}, no text"))
    }

    /// Waits until an expression is true.
    pub fn wait_until(&self, expression: &str) {
        let begun = Instant::now();
        while self.js(expression) != Value::Bool(true) {
            assert!(begun.elapsed() < PATIENCE, "waited in vain until {expression}");
            std::thread::sleep(LOOK_EVERY);
        }
    }

    /// Sets the size of the page's view, pixels.
    pub fn size(&self, width: u32, height: u32) {
        let metrics = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        self.devtools("Emulation.setDeviceMetricsOverride", &metrics);
    }

    /// Asks for dark colours, or light ones.
    pub fn dark(&self, dark: bool) {
        self.look(Media {
            dark,
            ..self.media.get()
        });
    }

    /// Shows the page as it is printed, or as on a screen.
    pub fn print_media(&self, print: bool) {
        self.look(Media {
            print,
            ..self.media.get()
        });
    }

    fn look(&self, media: Media) {
        self.media.set(media);
        let scheme = if media.dark { "dark" } else { "light" };
        let medium = if media.print { "print" } else { "screen" };
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.devtools(
            "Emulation.setEmulatedMedia",
            &json!({ "media": medium, "features": features }),
        );
    }

    /// Moves the pointer to a point of the view.
    pub fn hover(&self, x: f64, y: f64) {
        let moves = MouseActions::new("mouse".to_owned()).then(to(x, y));
        self.must("hover", self.client().perform_actions(moves));
    }

    /// Clicks at a point of the view.
    pub fn click(&self, x: f64, y: f64) {
        self.drag((x, y), (x, y));
    }

    /// Clicks twice at a point of the view, as one does to be understood.
    pub fn double_click(&self, x: f64, y: f64) {
        let button = MOUSE_BUTTON_LEFT;
        let moves = MouseActions::new("mouse".to_owned())
            .then(to(x, y))
            .then(PointerAction::Down { button })
            .then(PointerAction::Up { button })
            .then(PointerAction::Down { button })
            .then(PointerAction::Up { button });
        self.must("a double click", self.client().perform_actions(moves));
    }

    /// Presses the left button at a point, moves to another by way of the middle, and lets go.
    pub fn drag(&self, from: (f64, f64), onto: (f64, f64)) {
        let button = MOUSE_BUTTON_LEFT;
        let half = to(f64::midpoint(from.0, onto.0), f64::midpoint(from.1, onto.1));
        let moves = MouseActions::new("mouse".to_owned())
            .then(to(from.0, from.1))
            .then(PointerAction::Down { button })
            .then(half)
            .then(to(onto.0, onto.1))
            .then(PointerAction::Up { button });
        self.must("drag", self.client().perform_actions(moves));
    }

    /// Presses a key and lets it go: a character, or one of `fantoccini::key::Key` as one.
    pub fn key(&self, value: char) {
        let keys = KeyActions::new("keys".to_owned())
            .then(KeyAction::Down { value })
            .then(KeyAction::Up { value });
        self.must("a key", self.client().perform_actions(keys));
    }

    /// The middle of the first element of a selector, in the view.
    pub fn middle_of(&self, selector: &str) -> (f64, f64) {
        let selector = Value::from(selector);
        let found = self.js(&format!(
            "(() => {{ const b = document.querySelector({selector}).getBoundingClientRect(); \
             return [b.x + b.width / 2, b.y + b.height / 2]; }})()"
        ));
        let at = |index: usize| found[index].as_f64().expect("a number");
        (at(0), at(1))
    }

    /// Keeps a picture of the view as `target/browser/NAME.png`; says where.
    pub fn screenshot(&self, name: &str) -> PathBuf {
        let picture = self.must("a picture", self.client().screenshot());
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/browser");
        std::fs::create_dir_all(&folder).expect("made");
        let file = folder.join(format!("{name}.png"));
        std::fs::write(&file, picture).expect("written");
        file
    }

    /// What Chromium's own protocol answers.
    pub fn devtools(&self, name: &str, parameters: &Value) -> Value {
        self.ask("goog/cdp/execute", json!({ "cmd": name, "params": parameters }))
    }

    /// A command that is not in the standard.
    fn ask(&self, path: &'static str, body: Value) -> Value {
        let command = Further { path, body };
        self.must(path, self.client().issue_cmd(command))
    }

    fn client(&self) -> &Client {
        self.client.as_ref().expect("not ended")
    }

    fn must<T, E: std::fmt::Display>(&self, what: &str, asked: impl Future<Output = Result<T, E>>) -> T {
        let answer = self.runtime.block_on(within(asked));
        answer.unwrap_or_else(|error| panic!("{what}: {error}"))
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if let Some(client) = self.client.take() {
            // What does not end by itself is killed.
            let _it_is_killed_else = self
                .runtime
                .block_on(async { tokio::time::timeout(PATIENCE, client.close()).await });
        }
        if let Some(process) = self.process {
            end_group(process);
        }
    }
}

/// Waits for an answer, but not for ever.
async fn within<T>(asked: impl Future<Output = T>) -> T {
    tokio::time::timeout(PATIENCE, asked).await.expect("no answer")
}

fn to(x: f64, y: f64) -> PointerAction {
    PointerAction::MoveTo { duration: None, x, y }
}

fn capabilities(profile: &Path) -> Capabilities {
    let mut arguments: Vec<String> = FLAGS.map(str::to_owned).to_vec();
    arguments.push(format!("--user-data-dir={}", profile.display()));
    let mut options = json!({ "args": arguments });
    if let Ok(program) = std::env::var("BREATHROOM_BROWSER") {
        options["binary"] = program.into();
    }
    let mut capabilities = Capabilities::new();
    capabilities.insert("browserName".to_owned(), "chrome".into());
    capabilities.insert("goog:chromeOptions".to_owned(), options);
    capabilities.insert("goog:loggingPrefs".to_owned(), json!({ "browser": "ALL" }));
    capabilities
}

/// A command of chromedriver alone.
#[derive(Debug)]
struct Further {
    path: &'static str,
    body: Value,
}

impl WebDriverCompatibleCommand for Further {
    fn endpoint(&self, base_url: &url::Url, session_id: Option<&str>) -> Result<url::Url, url::ParseError> {
        let session = session_id.unwrap_or_default();
        base_url.join(&format!("session/{session}/{}", self.path))
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.body.to_string()))
    }
}
