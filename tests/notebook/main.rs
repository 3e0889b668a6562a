//! Tables as others read them: data packages by the standard's own validator and by pandas, workbooks by openpyxl, LaTeX by
//! pdflatex.
//!
//! `.ci/run` runs these. By hand:
//!
//! ```text
//! tests/notebook/setup.sh target/notebook
//! BREATHROOM_PYTHON=$PWD/target/notebook/bin/python cargo test -p breathroom-tests --features python --test notebook
//! ```
//!
//! Without `BREATHROOM_PYTHON` it is `python3` that is asked. `pdflatex` is in Debian's texlive-latex-base and
//! texlive-latex-recommended.

mod books;
mod packages;
mod place;
