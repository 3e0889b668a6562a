//! Pages in a browser: Chromium without a window, driven through chromedriver.
//!
//! `.ci/run` runs these. By hand:
//!
//! ```text
//! apt install chromium chromium-driver
//! cargo test -p breathroom-tests --features browser --test browser
//! ```
//!
//! ```text
//! made (jobs, once each) --> report.html --browser--> svg, drawn --> against the CSV files beside it
//! ```
//!
//! `BREATHROOM_CHROMEDRIVER` names another chromedriver, `BREATHROOM_BROWSER` another browser of Chromium's kind. Screenshots go to
//! `target/browser/`.

mod bars;
mod browser;
mod bytes;
mod clouds;
mod curves;
mod designs;
mod desk;
mod drawn;
mod driver;
mod figure_files;
mod hostile;
mod lanes;
mod looks;
mod made;
mod many;
mod opens;
mod own_page;
mod pointing;
mod print;
mod svg;
mod zooming;
