//! Edits of every shipped scenario: only what was meant changes.

use super::super::document::{Document, Refused, missing};
use super::super::outline::Outline;
use super::super::typed;
use super::support::{ROOM, shipped};

#[test]
fn every_value_of_every_scenario_is_a_field_with_a_known_key() {
    for (name, text) in shipped() {
        let outline = Outline::of(&text);
        let fields: Vec<_> = outline.parts.iter().flat_map(|part| &part.fields).collect();
        assert!(fields.len() > 15, "{name}: {}", fields.len());
        for field in &fields {
            assert!(field.key.is_some() && field.editable, "{name}: {}", field.path);
        }
        // Every line with a key is inside of a field.
        let lines = text
            .lines()
            .filter(|line| line.split('#').next().is_some_and(|code| code.contains(" = ")));
        let starts: Vec<usize> = fields.iter().map(|field| field.whole.start).collect();
        for line in lines {
            let at = line.as_ptr() as usize - text.as_ptr() as usize;
            let inside = fields
                .iter()
                .any(|field| field.whole.start <= at && at < field.whole.end);
            let own = starts.iter().any(|start| (at..at + line.len()).contains(start));
            assert!(inside || own, "{name}: no field for `{line}`");
        }
    }
}

#[test]
fn an_edit_to_the_same_value_leaves_the_same_bytes() {
    for (name, text) in shipped() {
        let document = Document::new(text.clone());
        for field in Outline::of(&text).parts.iter().flat_map(|part| &part.fields) {
            let again = document.with(&field.path, &text[field.value.clone()]).expect("edited");
            assert_eq!(again.text, text, "{name}: {}", field.path);
            let typed = document.typed(&field.path, &field.text).expect("edited");
            assert!(typed.drafts.is_empty(), "{name}: {}", field.path);
            let shown = Outline::of(&typed.text).field(&field.path).expect("there").text.clone();
            assert_eq!(shown, field.text, "{name}: {}", field.path);
        }
    }
}

#[test]
fn an_edit_of_a_field_changes_its_line_and_no_other() {
    for (name, text) in shipped() {
        let document = Document::new(text.clone());
        for field in Outline::of(&text).parts.iter().flat_map(|part| &part.fields) {
            let (value, path) = (&text[field.value.clone()], &field.path);
            let edited = document
                .with(path, "\"edited\"")
                .unwrap_or_else(|why| panic!("{name}: {path}: {why:?}"));
            let before: Vec<&str> = text.split_inclusive('\n').collect();
            let after: Vec<&str> = edited.text.split_inclusive('\n').collect();
            let more = value.matches('\n').count();
            assert_eq!(before.len(), after.len() + more, "{name}: {path}");
            let at = text[..field.value.start].matches('\n').count();
            assert_eq!(before[..at], after[..at], "{name}: {path}");
            assert_eq!(before[at + more + 1..], after[at + 1..], "{name}: {path}");
            assert!(after[at].contains("\"edited\""), "{name}: {path}: {}", after[at]);
        }
    }
}

#[test]
fn a_field_that_is_taken_out_goes_alone_and_can_be_added_again() {
    for (name, text) in shipped() {
        let document = Document::new(text.clone());
        for part in &Outline::of(&text).parts {
            for field in &part.fields {
                let path = &field.path;
                let without = document
                    .without(path)
                    .unwrap_or_else(|why| panic!("{name}: {path}: {why:?}"));
                let gone = Outline::of(&without.text);
                let all = |outline: &Outline| outline.parts.iter().map(|part| part.fields.len()).sum::<usize>();
                let (now, before) = (all(&gone), all(&Outline::of(&text)));
                // Without its kind a device's other keys are not what they were; a table in braces may be left empty.
                let empty = gone
                    .field(path.rsplit_once('.').map_or("", |(table, _)| table))
                    .is_some();
                assert!(
                    now + usize::from(!empty) == before || field.name == "kind",
                    "{name}: {path}"
                );
                assert!(comments(&text) - comments(&without.text) <= 1, "{name}: {path}");
            }
        }
    }
}

fn comments(text: &str) -> usize {
    text.lines().filter(|line| line.contains('#')).count()
}

#[test]
fn every_key_that_may_be_added_is_added_where_it_belongs() {
    let (_, text) = shipped()
        .into_iter()
        .find(|(name, _)| name == "two-crew-sortie.toml")
        .expect("it is shipped");
    let document = Document::new(text.clone());
    let mut added = 0;
    for part in &Outline::of(&text).parts {
        for (key, _) in missing(part) {
            let more = document
                .added(&part.path, &key)
                .unwrap_or_else(|why| panic!("{} {key}: {why:?}", part.path));
            // Whatever was there is there still, in its order: one line is new, or another.
            let (before, after): (Vec<&str>, Vec<&str>) = (text.lines().collect(), more.text.lines().collect());
            let same = before.iter().zip(&after).take_while(|(a, b)| a == b).count();
            let (before, after) = (&before[same..], &after[same..]);
            let tail = before
                .iter()
                .rev()
                .zip(after.iter().rev())
                .take_while(|(a, b)| a == b)
                .count();
            assert!(
                before.len() <= tail + 1 && after.len() <= tail + 1,
                "{} {key}",
                part.path
            );
            added += 1;
        }
    }
    assert!(added > 100, "{added}");
}

#[test]
fn an_empty_table_is_a_field_that_is_filled_and_emptied() {
    let document = Document::new("[compartments.a]\nheat = {} # so\n".to_owned());
    let outline = Outline::of(&document.text);
    assert_eq!(outline.field("compartments.a.heat").expect("there").text, "{}");
    let part = outline.part("compartments.a").expect("there");
    let (name, _) = missing(part)
        .into_iter()
        .find(|(name, _)| name.starts_with("heat."))
        .expect("its keys");
    let more = document.added("compartments.a", &name).expect("added");
    assert!(
        more.text.ends_with(" } # so\n") && more.text.contains(" = { "),
        "{}",
        more.text
    );
    let path = format!("compartments.a.{name}");
    assert_eq!(
        more.without(&path).expect("taken out").text,
        "[compartments.a]\nheat = { } # so\n"
    );
}

#[test]
fn tables_are_added_and_taken_out_whole() {
    let (_, text) = shipped()
        .into_iter()
        .find(|(name, _)| name == "two-crew-sortie.toml")
        .expect("it is shipped");
    let document = Document::new(text.clone());
    let more = document.with_part("crew", "third").expect("added");
    let outline = Outline::of(&more.text);
    let place = |path: &str| outline.parts.iter().position(|part| part.path == path).expect("there");
    assert_eq!(place("crew.third"), place("crew.second") + 1);
    let back = more.without_part("crew.third").expect("taken out");
    let blank = |text: &str| {
        text.lines()
            .filter(|line| !line.trim().is_empty())
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(blank(&back.text), blank(&text));
    let task = document.with_part("tasks", "nap").expect("added");
    assert_eq!(
        Outline::of(&task.text).field("tasks.nap.id").expect("there").text,
        "nap"
    );
    let less = document.without_part("tasks.sleep").expect("taken out");
    assert!(Outline::of(&less.text).part("tasks.sleep").is_none() && less.text.contains("# Every day."));
    assert!(Outline::of(&less.text).part("tasks.breakfast").is_some());
    for name in ["", "a b", "a.b", "x]\n[y", "\u{e4}"] {
        assert!(
            matches!(document.with_part("crew", name), Err(Refused::Cannot(_))),
            "{name:?}"
        );
    }
    assert!(matches!(document.with_part("crew", "lead"), Err(Refused::Cannot(_))));
}

#[test]
fn line_ends_a_mark_in_front_and_odd_tables_are_kept() {
    let text = "\u{feff}format = 1\r\ntitle = \"x\" # why\r\n[air]\r\nco2.x = 1\r\n\r\n[removal]\r\na = { kind = \"curve\", on = true }\r\n";
    let document = Document::new(text.to_owned());
    assert_eq!(
        document.with("title", "\"y\"").expect("edited").text,
        text.replace("\"x\"", "\"y\"")
    );
    assert_eq!(
        document.without("title").expect("edited").text,
        text.replace("title = \"x\" # why\r\n", "")
    );
    let on = document.without("removal.a.on").expect("edited").text;
    assert_eq!(on, text.replace(", on = true", ""));
    let first = document.without("removal.a.kind").expect("edited").text;
    assert_eq!(first, text.replace("kind = \"curve\", ", ""));
    let added = document.added("", "gravity").expect("added").text;
    assert_eq!(
        added,
        text.replace("# why\r\n", "# why\r\ngravity = \"9.80665 m/s2\"\r\n")
    );
    let part = document.added("removal.a", "fan").expect("added").text;
    assert_eq!(part, text.replace("on = true }", "on = true, fan = \"main\" }"));
    // Without a break at the end of the file.
    let bare = Document::new("format = 1".to_owned())
        .added("", "title")
        .expect("added")
        .text;
    assert_eq!(bare, "format = 1\ntitle = \"Two crew, one day\"\n");
    let unended = Document::new("format = 1".to_owned())
        .with_part("crew", "a")
        .expect("added")
        .text;
    assert!(unended.starts_with("format = 1\n\n[crew.a]\n"), "{unended:?}");
}

#[test]
fn what_is_no_toml_is_kept_beside_the_text_and_leaves_when_it_is_mended() {
    let document = Document::new(ROOM.to_owned());
    let path = "compartments.room.free_volume";
    let draft = document.typed(path, "{ normal = [").expect("kept");
    assert_eq!(draft.text, ROOM);
    assert_eq!(draft.drafts[path].0, "{ normal = [");
    assert!(
        draft
            .whole()
            .ends_with("compartments.room.free_volume = { normal = [\n"),
        "{}",
        draft.whole()
    );
    let mended = draft.typed(path, "31 m3").expect("mended");
    assert!(mended.drafts.is_empty() && mended.text.contains("\"31 m3\""));
    assert_eq!(
        document.typed("compartments.none.free_volume", "1"),
        Err(Refused::Gone(
            "there is no `compartments.none.free_volume` any more".to_owned()
        ))
    );
    let trick = document.typed(path, "\"30 m3\"\nevil = 1").expect("kept");
    assert_eq!((trick.text.as_str(), trick.drafts.len()), (ROOM, 1));
    assert_eq!(typed::quoted("a\nevil = 1"), "\"a\\nevil = 1\"");
}
