//! The workspace as files.

use std::path::{Path, PathBuf};

/// The root of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("tests/ lies in the workspace")
        .to_path_buf()
}

/// Every file under a folder, sorted.
pub fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    walk(folder, &mut |path| {
        if path.is_file() {
            found.push(path.to_path_buf());
        }
    });
    found
}

/// Every folder under a folder, sorted, as paths from the root of the workspace with `/`.
pub fn folders(folder: &str) -> Vec<String> {
    let root = root();
    let mut found = Vec::new();
    walk(&root.join(folder), &mut |path| {
        if path.is_dir() {
            let inside = path.strip_prefix(&root).expect("below the root");
            found.push(
                inside
                    .components()
                    .map(|part| part.as_os_str().to_string_lossy())
                    .collect::<Vec<_>>()
                    .join("/"),
            );
        }
    });
    found
}

/// A file of the workspace as text.
pub fn text(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// The fenced blocks of a Markdown text: what stands after the fence, and the lines.
pub fn blocks(markdown: &str) -> Vec<(String, Vec<String>)> {
    let mut blocks: Vec<(String, Vec<String>)> = Vec::new();
    let mut inside = false;
    for line in markdown.lines() {
        if let Some(kind) = line.strip_prefix("```") {
            inside = !inside;
            if inside {
                blocks.push((kind.trim().to_owned(), Vec::new()));
            }
        } else if let (true, Some((_, lines))) = (inside, blocks.last_mut()) {
            lines.push(line.to_owned());
        }
    }
    blocks
}

fn walk(folder: &Path, visit: &mut impl FnMut(&Path)) {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("a readable entry").path()).collect();
    paths.sort();
    for path in paths {
        visit(&path);
        if path.is_dir() {
            walk(&path, visit);
        }
    }
}
