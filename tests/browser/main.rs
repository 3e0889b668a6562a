//! Pages in a browser: Chromium without a window, driven through chromedriver.
//!
//! `.ci/run` runs these. By hand:
//!
//! ```text
//! apt install chromium chromium-driver
//! cargo test -p breathroom-tests --features browser --test browser
//! ```
//!
//! `BREATHROOM_CHROMEDRIVER` names another chromedriver, `BREATHROOM_BROWSER` another browser of Chromium's kind. Screenshots go to
//! `target/browser/`.

mod browser;
mod driver;
mod own_page;
mod svg;
