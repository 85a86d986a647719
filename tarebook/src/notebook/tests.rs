//! Is nothing lost, and is tampering seen?

use super::*;

fn scratch() -> tempfile::TempDir {
    tempfile::tempdir().expect("a scratch folder")
}

#[test]
fn names_stay_in_the_folder() {
    let folder = scratch();
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    for bad in ["", "..", "../x", "a/b", "a\\b", ".hidden", "a\0b", " a", "a\n", "c:x", &"x".repeat(300)] {
        assert!(matches!(notebook.read(bad), Err(NotebookError::BadName(_))), "{bad:?}");
    }
}

#[test]
fn an_entry_with_a_known_key_is_entered_once() {
    let folder = scratch();
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    notebook.create("a", "x\n", "begun").expect("created");
    let add = |text: &str| Ok(format!("{text}y\n"));
    notebook.change("a", "reading", Some("k1"), add).expect("entered");
    assert!(matches!(notebook.change("a", "reading", Some("k1"), add), Ok(Saved::Before(_))));
    assert_eq!(notebook.read("a").expect("a page").text, "x\ny\n");
}

#[test]
fn two_hundred_entries_of_two_writers_are_all_there() {
    let folder = scratch();
    let notebooks = [folder.path(), folder.path()].map(|path| Notebook::open(path).expect("a notebook"));
    notebooks[0].create("a", "", "begun").expect("created");
    std::thread::scope(|scope| {
        for (writer, notebook) in notebooks.iter().enumerate() {
            scope.spawn(move || {
                for entry in 0..100 {
                    let line = format!("{writer}-{entry}\n");
                    let key = format!("{writer}-{entry}");
                    notebook.change("a", "reading", Some(&key), |text| Ok(format!("{text}{line}"))).expect("entered");
                }
            });
        }
    });
    let text = notebooks[0].read("a").expect("a page").text;
    assert_eq!(text.lines().collect::<std::collections::BTreeSet<_>>().len(), 200);
    assert_eq!(notebooks[1].chain().expect("a chain"), Chain::Whole(201));
}

#[test]
fn a_text_made_from_an_older_revision_is_merged_or_shown() {
    let folder = scratch();
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    let first = notebook.create("a", "one\ntwo\nthree\n", "begun").expect("created");
    notebook.save("a", &first.revision, "ONE\ntwo\nthree\n", "edited").expect("saved");
    let merged = notebook.save("a", &first.revision, "one\ntwo\nTHREE\n", "edited").expect("saved");
    assert!(matches!(&merged, Saved::Merged(page) if page.text == "ONE\ntwo\nTHREE\n"));
    let conflict = notebook.save("a", &first.revision, "uno\ntwo\nthree\n", "edited").expect("judged");
    assert!(matches!(conflict, Saved::Conflict { .. }));
    assert_eq!(notebook.read("a").expect("a page").text, "ONE\ntwo\nTHREE\n");
}

#[test]
fn an_outside_change_is_a_version_and_a_stop_between_history_and_file_is_made_good() {
    let folder = scratch();
    let path = folder.path().join("a.toml");
    {
        let notebook = Notebook::open(folder.path()).expect("a notebook");
        notebook.create("a", "one\n", "begun").expect("created");
        std::fs::write(&path, "two\n").expect("an outside change");
        notebook.change("a", "reading", None, |text| Ok(format!("{text}three\n"))).expect("entered");
        let versions = notebook.versions("a").expect("versions");
        assert_eq!(
            versions.iter().map(|v| v.what.as_str()).collect::<Vec<_>>(),
            ["begun", "changed outside the notebook", "reading"]
        );
    }
    // As if the program had been stopped before the file was written.
    std::fs::write(&path, "two\n").expect("written");
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    assert_eq!(notebook.read("a").expect("a page").text, "two\nthree\n");
}

#[test]
fn a_changed_version_breaks_the_chain_and_a_backup_restores() {
    let folder = scratch();
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    notebook.create("a", "one\n", "begun").expect("created");
    notebook.change("a", "edited", None, |_| Ok("two\n".to_owned())).expect("edited");
    let other = scratch();
    let backup = other.path().join("backup.sqlite");
    notebook.backup(&backup).expect("a backup");
    let restored = Notebook::restore(&backup, &other.path().join("again")).expect("restored");
    assert_eq!(restored.read("a").expect("a page").text, "two\n");
    assert_eq!(restored.versions("a").expect("versions").len(), 2);
    drop(notebook);
    let connection = rusqlite::Connection::open(folder.path().join(HISTORY)).expect("the history");
    assert!(connection.execute("UPDATE version SET what = 'x'", []).is_err(), "ordinary means are refused");
    let forced = "DROP TRIGGER version_is_not_changed; UPDATE version SET at = '2020' WHERE number = 1;";
    connection.execute_batch(forced).expect("forced");
    drop(connection);
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    assert!(matches!(notebook.chain(), Ok(Chain::Broken { at: 1, .. })));
}

#[test]
fn undo_takes_edits_back_and_never_a_reading() {
    let folder = scratch();
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    notebook.create("a", "one\n", "begun").expect("created");
    notebook.change("a", "step edited", None, |_| Ok("two\n".to_owned())).expect("edited");
    notebook.undo("a").expect("undone");
    assert_eq!(notebook.read("a").expect("a page").text, "one\n");
    notebook.change("a", "reading r1", None, |_| Ok("r1\n".to_owned())).expect("entered");
    assert!(matches!(notebook.undo("a"), Err(NotebookError::Refused(_))));
}

#[test]
fn photographs_and_frozen_plans_come_back_with_a_backup() {
    let folder = scratch();
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    notebook.create("a", "one\n", "begun").expect("created");
    let photograph = format!("{PHOTOS}/{}.png", blake3::hash(b"light").to_hex());
    std::fs::create_dir_all(folder.path().join(PHOTOS)).expect("a folder");
    std::fs::write(folder.path().join(&photograph), b"light").expect("written");
    std::fs::write(folder.path().join("a.plan.json"), b"{}").expect("written");
    // What is no part of the record stays where it is; what was changed outside comes along.
    std::fs::write(folder.path().join("notes.txt"), b"x").expect("written");
    std::fs::write(folder.path().join("a.toml"), "outside\n").expect("written");
    let other = scratch();
    let backup = other.path().join("backup.sqlite");
    notebook.backup(&backup).expect("a backup");
    let again = other.path().join("again");
    let restored = Notebook::restore(&backup, &again).expect("restored");
    assert_eq!(restored.read("a").expect("a page").text, "outside\n");
    assert_eq!(std::fs::read(again.join(&photograph)).expect("the photograph"), b"light");
    assert_eq!(std::fs::read(again.join("a.plan.json")).expect("the frozen plan"), b"{}");
    assert!(!again.join("notes.txt").exists());
    assert!(Notebook::restore(&backup, &again).is_err(), "a folder in use is left alone");
    drop(restored);
    assert!(Notebook::open(&again).is_ok_and(|again| matches!(again.chain(), Ok(Chain::Whole(2)))));
    for (case, damage) in [
        "UPDATE beside SET content = x'00' WHERE place LIKE 'photos/%'",
        "UPDATE beside SET place = '../../outside.plan.json' WHERE place LIKE '%.plan.json'",
        "UPDATE beside SET place = 'photos/../../x.png' WHERE place LIKE 'photos/%'",
    ]
    .into_iter()
    .enumerate()
    {
        let damaged = other.path().join(format!("damaged-{case}.sqlite"));
        std::fs::copy(&backup, &damaged).expect("a copy");
        rusqlite::Connection::open(&damaged).and_then(|c| c.execute_batch(damage)).expect("damaged");
        let to = other.path().join(format!("to-{case}"));
        assert!(matches!(Notebook::restore(&damaged, &to), Err(NotebookError::Refused(_))), "{damage}");
    }
    assert!(!other.path().join("outside.plan.json").exists());
}
