//! Do the shipped examples still print the pages that were read and kept? `UPDATE_GOLDEN=1` writes them anew.
//!
//! What the pages say is held to figures from outside in the tests of `prep`.

mod kept;

use std::path::Path;

#[test]
fn the_examples_print_their_kept_pages() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for (command, example) in [
        ("account", "epsom-magnesia"),
        ("plan", "epsom-magnesia"),
        ("account", "zinc-lozenges"),
        ("plan", "zinc-lozenges"),
        ("account", "zinc-lozenges-assayed"),
    ] {
        let output = assert_cmd::Command::cargo_bin("tarebook")
            .expect("binary")
            .arg(command)
            .arg(root.join("../examples").join(format!("{example}.toml")))
            .output()
            .expect("runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let printed = String::from_utf8(output.stdout).expect("text");
        kept::is_kept(&format!("{example}-{command}"), &printed);
    }
}

/// Where the hydration of a solid is open, its page gives grams as weighed and grams of the element, and no yield of an
/// assumed formula without saying that it is assumed.
#[test]
fn no_formula_is_claimed_while_the_hydration_is_open() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let output = assert_cmd::Command::cargo_bin("tarebook")
        .expect("binary")
        .args(["account", "--live"])
        .arg(root.join("../examples/bluestone.toml"))
        .output()
        .expect("runs");
    let page = String::from_utf8(output.stdout).expect("text");
    let table = page.split("Yields of copper, quoted and accounted").nth(1).expect("a table of yields");
    let (rows, rest) = table.split_once("Quoted yields (◇)").expect("a word on quoted yields");
    assert!(rest.replace('\n', " ").contains("hold only if their formula does"));
    let assumed: Vec<&str> = rows.lines().filter(|line| line.contains("(s)")).collect();
    assert!(assumed.len() >= 3 && assumed.iter().all(|line| line.contains("taken for") || line.contains("residue as")));
    let lots = page.split("What each lot may hold").nth(1).expect("a table of lots");
    assert!(lots.lines().any(|line| line.contains("mass, g") && line.contains("Cu, g")));
    assert!(lots.lines().any(|line| line.starts_with("precipitate") && line.contains("43.90")));
    assert!(page.contains("Composition not established; the element content is.") && !page.contains("identified"));
}
