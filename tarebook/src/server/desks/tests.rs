//! Is every example beside a field understood where it stands, with the examples of the fields that are always shown?

use super::{DESKS, Desk, Fields, Typed};

/// Fields whose example needs another one beside it, which stands first: an ion for an excess, a potential for couples.
const WITH: [(&str, &str); 5] =
    [("excess", "excess_of"), ("wet", "dry"), ("potential", "redox"), ("couples", "redox"), ("couples", "potential")];
/// Fields that stand in place of one that is always shown: the diluted salt of the example is beyond that pH already.
const INSTEAD: [(&str, &str); 3] = [("wet", "held"), ("dilute", "add"), ("dilute", "to_ph")];

fn slips(desk: &Desk, keys: &[&str], leave: &[&str]) -> Option<String> {
    let shown = |key: &str, more: bool| !leave.contains(&key) && (!more || keys.contains(&key));
    let fields = desk.fields.iter().filter(|field| field.typed != Typed::Tick && shown(field.key, field.more));
    // One substance is diluted; of several there is no strength.
    let lines = if keys.contains(&"dilute") { 1 } else { usize::MAX };
    let example = |text: &str| text.lines().take(lines).collect::<Vec<_>>().join("\n");
    let typed = fields.map(|field| (field.key.to_owned(), example(field.example))).collect();
    (desk.answer)(&Fields(typed)).err().map(|findings| format!("{} {keys:?}: {findings:?}", desk.key))
}

fn all(key: &str) -> Vec<String> {
    let desk = DESKS.iter().find(|desk| desk.key == key).expect("a desk");
    let more = desk.fields.iter().filter(|field| field.more && field.typed != Typed::Tick).map(|field| field.key);
    let mut found: Vec<String> = slips(desk, &[], &[]).into_iter().collect();
    for key in more {
        let with = WITH.iter().filter(|(one, other)| *one == key || *other == key);
        let keys: Vec<&str> = with.flat_map(|(one, other)| [*one, *other]).chain([key]).collect();
        let leave: Vec<&str> = INSTEAD.iter().filter(|(own, _)| keys.contains(own)).map(|(_, other)| *other).collect();
        found.extend(slips(desk, &keys, &leave));
    }
    found
}

#[test]
fn examples_of_wet_questions_are_understood() {
    let found: Vec<String> = ["solution", "crystallise", "wash"].into_iter().flat_map(all).collect();
    assert!(found.is_empty(), "{found:#?}");
}
