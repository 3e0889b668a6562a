//! `summary.md` as parts of a page: what stands there in tables and lists need not be made twice.
//!
//! Whatever is written in a scenario is text: no HTML passes, and no link.

use pulldown_cmark::{Event, HeadingLevel, Options, Parser, Tag, TagEnd, html};

/// The sections of a Markdown text, by their second-level headings, as HTML; what comes before the first, and after a rule, is left
/// out. Tables stand in a frame that scrolls.
#[must_use]
pub fn sections(markdown: &str) -> Vec<(String, String)> {
    let mut out: Vec<(String, Vec<Event<'_>>)> = Vec::new();
    let mut title: Option<String> = None;
    for event in Parser::new_ext(markdown, Options::ENABLE_TABLES) {
        match (event, &mut title) {
            (Event::Rule, _) => break,
            (
                Event::Start(Tag::Heading {
                    level: HeadingLevel::H2,
                    ..
                }),
                _,
            ) => title = Some(String::new()),
            (Event::End(TagEnd::Heading(HeadingLevel::H2)), _) => {
                out.push((title.take().unwrap_or_default(), Vec::new()));
            }
            (Event::Text(text) | Event::Code(text), Some(title)) => title.push_str(&text),
            (event, _) => {
                if let (Some(event), Some((_, events))) = (harmless(event), out.last_mut()) {
                    events.push(event);
                }
            }
        }
    }
    let written = |(title, events): (String, Vec<Event<'_>>)| {
        let mut text = String::new();
        html::push_html(&mut text, events.into_iter());
        let text = text
            .replace("<table>", "<div class=\"wide\"><table>")
            .replace("</table>", "</table></div>");
        (title, text)
    };
    out.into_iter().map(written).collect()
}

fn harmless(event: Event<'_>) -> Option<Event<'_>> {
    match event {
        Event::Html(text) | Event::InlineHtml(text) => Some(Event::Text(text)),
        Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::HtmlBlock)
        | Event::End(TagEnd::Link | TagEnd::Image | TagEnd::HtmlBlock) => None,
        other => Some(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_and_lists_come_through_and_nothing_that_acts() {
        let text = "# T\n\nintro\n\n## A `x`\n\n| a | b |\n| --- | --- |\n| <b>1</b> | [l](javascript:x) |\n\n<script>alert(1)</script>\n\n## B\n\n- **NO**\n\n---\n\nend";
        let found = sections(text);
        assert_eq!(
            found.iter().map(|(title, _)| title.as_str()).collect::<Vec<_>>(),
            ["A x", "B"]
        );
        let (_, table) = &found[0];
        assert!(
            table.contains("<td>&lt;b&gt;1&lt;/b&gt;</td>") && table.contains("<td>l</td>"),
            "{table}"
        );
        assert!(!table.contains("<script") && !table.contains("javascript"), "{table}");
        assert!(found[1].1.contains("<li><strong>NO</strong></li>") && !found[1].1.contains("end"));
    }
}
