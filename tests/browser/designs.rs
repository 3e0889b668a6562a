//! The table of designs sorts and filters.

use serde_json::json;

use super::browser::Browser;
use super::made;

const TABLE: &str = "document.querySelector('table#designs')";

/// The place of a column by its header.
fn column(browser: &Browser, header: &str) -> usize {
    let header = serde_json::Value::from(header);
    let at = browser.number(&format!(
        "[...{TABLE}.tHead.rows[0].cells].findIndex((of) => of.textContent.trim() === {header})"
    ));
    assert!(at >= 0.0, "no column {header}");
    at as usize
}

/// The cells of a column as they stand, by what they are sorted by.
fn cells(browser: &Browser, at: usize) -> Vec<String> {
    let found = browser.js(&format!(
        "[...{TABLE}.tBodies[0].rows].map((row) => row.cells[{at}].dataset.value || row.cells[{at}].textContent)"
    ));
    let cells = found.as_array().expect("a list").iter();
    cells.map(|cell| cell.as_str().expect("a text").to_owned()).collect()
}

/// Clicks the header of a column where it is seen.
fn sort(browser: &Browser, at: usize) {
    let button = format!("table#designs thead th:nth-child({}) button", at + 1);
    browser.js(&format!(
        "document.querySelector('{button}').scrollIntoView({{ block: 'center', inline: 'center' }})"
    ));
    let (x, y) = browser.middle_of(&button);
    browser.click(x, y);
}

/// What each header says of its order.
fn orders(browser: &Browser) -> Vec<Option<String>> {
    let found = browser.js(&format!(
        "[...{TABLE}.tHead.rows[0].cells].map((of) => of.getAttribute('aria-sort'))"
    ));
    let orders = found.as_array().expect("a list").iter();
    orders.map(|order| order.as_str().map(str::to_owned)).collect()
}

/// Fails unless numbers stand in order, what is none of them behind.
fn in_order(cells: &[String], falls: bool, empties: usize) {
    let (numbers, rest) = cells.split_at(cells.len() - empties);
    let numbers: Vec<f64> = numbers
        .iter()
        .map(|cell| cell.parse().unwrap_or_else(|_| panic!("{cell} in {cells:?}")))
        .collect();
    assert!(
        rest.iter().all(|cell| cell.parse::<f64>().is_err()),
        "empties last: {cells:?}"
    );
    assert!(
        numbers
            .windows(2)
            .all(|pair| if falls { pair[0] >= pair[1] } else { pair[0] <= pair[1] }),
        "{falls}: {numbers:?}"
    );
    assert!(numbers.first() != numbers.last(), "there is something to sort");
}

#[test]
fn a_click_sorts_by_value_both_ways_with_empties_last() {
    let made = made::rooms();
    let (browser, table) = (made.opened(), made.table("trade.csv"));
    for header in ["co2 [mmHg]", "mass [kg]"] {
        let at = column(&browser, header);
        let empties = table.words(header).iter().filter(|cell| cell.is_empty()).count();
        assert!(header != "co2 [mmHg]" || empties > 0, "some rows have no margin");
        for (falls, order) in [(false, "ascending"), (true, "descending"), (false, "ascending")] {
            sort(&browser, at);
            in_order(&cells(&browser, at), falls, empties);
            let orders = orders(&browser);
            for (other, found) in orders.iter().enumerate() {
                assert_eq!(found.as_deref(), (other == at).then_some(order), "{header}: {orders:?}");
            }
        }
    }
    // Whole rows move: each has its own cells still.
    let (names, margins) = (
        cells(&browser, column(&browser, "row")),
        cells(&browser, column(&browser, "co2 [mmHg]")),
    );
    let mut found: Vec<(String, Option<f64>)> = names
        .into_iter()
        .zip(margins.iter().map(|text| text.parse().ok()))
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    let expected = table.words("row").into_iter().zip(table.words("co2 [mmHg]"));
    let expected: Vec<(String, Option<f64>)> = expected
        .map(|(row, text)| (row.to_owned(), text.parse().ok()))
        .collect();
    assert_eq!(found, expected);
}

/// By value: 9 comes before 10, and a minus is one.
#[test]
fn numbers_are_no_words() {
    let browser = made::rooms().opened();
    let at = column(&browser, "mass [kg]");
    let values = ["10", "9", "", "\u{2212}2", "1,200", "1e-3", "< 0.5"];
    browser.js(&format!(
        "{}.forEach((value, row) => {{ const cell = {TABLE}.tBodies[0].rows[row].cells[{at}]; delete cell.dataset.value; cell.textContent = value; }})",
        json!(values)
    ));
    browser.js(&format!(
        "[...{TABLE}.tBodies[0].rows].slice({}).forEach((row) => row.remove())",
        values.len()
    ));
    sort(&browser, at);
    assert_eq!(
        cells(&browser, at),
        ["\u{2212}2", "1e-3", "< 0.5", "9", "10", "1,200", ""]
    );
    sort(&browser, at);
    assert_eq!(
        cells(&browser, at),
        ["1,200", "10", "9", "< 0.5", "1e-3", "\u{2212}2", ""]
    );
}

#[test]
fn a_word_filters_rows_and_they_are_counted() {
    let made = made::rooms();
    let (browser, table) = (made.opened(), made.table("trade.csv"));
    let field = "input[data-filters=\"designs\"]";
    let told = || browser.text("document.querySelector('output[data-counts=\"designs\"]').textContent");
    let shown = || {
        browser.js(&format!("[...{TABLE}.tBodies[0].rows].filter((row) => row.getBoundingClientRect().height > 0).map((row) => row.cells[0].textContent)"))
    };
    assert_eq!(told(), format!("{0} of {0}", table.rows()));
    browser.js(&format!(
        "document.querySelector('{field}').scrollIntoView({{ block: 'center' }})"
    ));
    let (x, y) = browser.middle_of(field);
    browser.click(x, y);
    let write = |words: &str| words.chars().for_each(|letter| browser.key(letter));
    write("No Such");
    let expected: Vec<&str> = table
        .of(&[("state", "no such design")])
        .words("row")
        .iter()
        .map(|row| *table.words("row").iter().find(|other| *other == row).expect("there"))
        .collect();
    assert!(!expected.is_empty() && expected.len() < table.rows());
    assert_eq!(shown(), json!(expected));
    assert_eq!(told(), format!("{} of {}", expected.len(), table.rows()));
    // A second word narrows it to the rows that have both.
    write(&format!(" {}", expected[0]));
    assert_eq!(shown(), json!([expected[0]]));
    assert_eq!(told(), format!("1 of {}", table.rows()));
    write("zzz");
    assert_eq!((shown(), told()), (json!([]), format!("0 of {}", table.rows())));
}
