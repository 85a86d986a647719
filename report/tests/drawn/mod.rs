//! What does a drawing hold: is it well formed, and where do its words stand?

use report::figure::Figure;
use report::figure::labels::{Frame, Side};

/// Well formed: every element that opens also closes.
pub fn balanced(svg: &str) -> bool {
    let mut open = Vec::new();
    for part in svg.split('<').skip(1) {
        let Some((tag, _)) = part.split_once('>') else { return false };
        let name = tag.split([' ', '/']).next().unwrap_or_default();
        if let Some(closing) = tag.strip_prefix('/') {
            if open.pop() != Some(closing) {
                return false;
            }
        } else if !tag.ends_with('/') {
            open.push(name);
        }
    }
    open.is_empty()
}

/// The value of an attribute.
fn attribute<'a>(tag: &'a str, name: &str) -> &'a str {
    let begin = format!(" {name}=\"");
    let Some((_, rest)) = tag.split_once(&begin) else { return "" };
    rest.split('"').next().unwrap_or_default()
}

/// Every word of a drawing with its frame.
pub fn words(svg: &str) -> Vec<(String, Frame)> {
    let mut list = Vec::new();
    for part in svg.split("<text").skip(1) {
        let (tag, rest) = part.split_once('>').expect("an element");
        let (inside, _) = rest.split_once("</text>").expect("its end");
        let classes: Vec<&str> = attribute(tag, "class").split(' ').collect();
        let side = if classes.contains(&"e") {
            Side::End
        } else if classes.contains(&"mid") {
            Side::Middle
        } else {
            Side::Start
        };
        let number = |name: &str| attribute(tag, name).parse::<f64>().expect("a number");
        list.push((inside.to_owned(), Frame::of(inside, number("font-size"), (number("x"), number("y")), side)));
    }
    list
}

/// The drawings of a figure as it stands on a page, wide and narrow.
pub fn drawings(figure: &Figure) -> Vec<String> {
    let page = figure.html().into_string();
    page.split("<svg").skip(1).map(|part| part.split("</svg>").next().unwrap_or_default().to_owned()).collect()
}

/// Well formed, finite, told in words and numbers, and no word on another one.
pub fn check(name: &str, figure: &Figure) {
    for svg in [figure.svg(), figure.html().into_string(), figure.on_paper().0] {
        assert!(balanced(&svg), "{name}: {svg}");
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{name}: {svg}");
        assert!(!svg.contains(" style="), "{name}: the pages allow no style in an attribute");
    }
    assert!(figure.svg().contains("role=\"img\""), "{name}");
    assert!(!figure.description.is_empty() && !figure.table.rows.is_empty() && !figure.title.is_empty(), "{name}");
    let both = drawings(figure);
    assert_eq!(both.len(), 2, "{name}: one for a desk, one for a phone");
    for (svg, width) in both.iter().zip([720.0, 326.0]) {
        let words = words(svg);
        assert!(!words.is_empty(), "{name}");
        for (at, (one, frame)) in words.iter().enumerate() {
            assert!(
                frame.left > -14.0 && frame.right < width + 14.0,
                "{name}: “{one}” leaves the drawing, {frame:?} of {width}"
            );
            for (other, beside) in &words[at + 1..] {
                assert!(
                    !frame.meets(beside, -1.0),
                    "{name} at {width}: “{one}” stands on “{other}”, {frame:?} {beside:?}"
                );
            }
        }
    }
}
