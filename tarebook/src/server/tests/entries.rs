//! Does what is entered, changed and photographed stay, whoever writes at the same time?

use super::*;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_pages_racing_two_hundred_entries_lose_none() {
    let desk = desk(None);
    let writer = |page: usize| {
        let app = desk.app.clone();
        tokio::spawn(async move {
            for entry in 0..100 {
                let body = format!("reading=r1&figure=109.{entry:02}&key={page}-{entry}&note=n{page}x{entry}e");
                // Every entry is sent twice, as by a page that did not hear the answer.
                for _ in 0..2 {
                    let request = Request::post("/p/small/enter").header("host", HOST);
                    let request = request.header("content-type", "application/x-www-form-urlencoded");
                    let answer = app.clone().oneshot(request.body(Body::from(body.clone())).expect("a request")).await;
                    assert_eq!(answer.expect("an answer").status(), StatusCode::OK);
                }
            }
        })
    };
    let (one, two) = (writer(0), writer(1));
    one.await.expect("done");
    two.await.expect("done");
    let text = desk.office.notebook.read("small").expect("there").text;
    for page in 0..2 {
        for entry in 0..100 {
            assert_eq!(text.matches(&format!("\"n{page}x{entry}e\"")).count(), 1, "{page} {entry}");
        }
    }
    assert_eq!(text.matches("weigh = ").count(), 200);
    assert!(matches!(desk.office.notebook.chain(), Ok(crate::notebook::Chain::Whole(_))));
}

#[tokio::test]
async fn a_figure_is_judged_entered_corrected_and_never_taken_back() {
    let desk = desk(None);
    let (_, judged) = desk.post("/p/small/judge", "reading=r1&figure=109.90").await;
    assert!(judged.contains("\"verdict\":\"inside\""), "{judged}");
    let (_, judged) = desk.post("/p/small/judge", "reading=r1&figure=19.90").await;
    assert!(judged.contains("\"verdict\":\"stop\"") || judged.contains("\"verdict\":\"ask\""), "{judged}");
    assert_eq!(desk.post("/p/small/enter", "reading=r1&figure=109%2C90&key=a").await.0, StatusCode::OK);
    assert_eq!(desk.post("/p/small/undo", "").await.0, StatusCode::BAD_REQUEST);
    let (status, _) = desk.post("/p/small/correct", "reading=r1&figure=109.80&reason=read+too+early").await;
    assert!(status.is_redirection());
    assert!(desk.post("/p/small/hold", "step=dissolve&seen=clear").await.0.is_redirection());
    let text = desk.office.notebook.read("small").expect("there").text;
    assert!(text.contains("109.90 g") && text.contains("109.80 g") && text.contains("corrects = \"r1\""), "{text}");
    assert!(text.contains("hold passed") && text.contains(": clear"), "{text}");
    assert!(desk.post("/p/small/close", "").await.0.is_redirection());
    let (_, page) = desk.get("/p/small").await;
    assert!(page.contains("<del>") && page.contains("closed"), "{page}");
}

#[tokio::test]
async fn a_photograph_is_kept_under_its_hash() {
    let desk = desk(None);
    let (status, told) = desk.post("/p/small/photo?reading=r1", b"\x89PNG\r\n\x1a\nx".to_vec()).await;
    assert_eq!(status, StatusCode::OK, "{told}");
    let file = told.split('"').nth(3).expect("a name").to_owned();
    assert_eq!(desk.get(&format!("/photos/{file}")).await.0, StatusCode::OK);
    assert!(desk.office.notebook.read("small").expect("there").text.contains(&file));
    assert_eq!(desk.post("/p/small/photo?reading=r1", b"<svg>".to_vec()).await.0, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn remarks_and_photographs_of_a_reading_stay_beside_each_other_and_stand_in_the_margin() {
    let desk = desk(None);
    let (_, told) = desk.post("/p/small/photo?reading=r1", b"\x89PNG\r\n\x1a\nx".to_vec()).await;
    let file = told.split('"').nth(3).expect("a name").to_owned();
    let entry = "reading=r1&figure=109.90&key=a&note=blue+and+clear";
    assert_eq!(desk.post("/p/small/enter", entry).await.0, StatusCode::OK);
    let (_, again) = desk.post("/p/small/photo?reading=r1", b"\xff\xd8\xffx".to_vec()).await;
    let other = again.split('"').nth(3).expect("a name").to_owned();
    assert!(desk.post("/p/small/hold", "step=dissolve&seen=no+grains").await.0.is_redirection());
    let (_, page) = desk.get("/p/small").await;
    for part in
        [&*format!("/photos/{file}"), &*format!("/photos/{other}"), "blue and clear", "Hold passed", "no grains"]
    {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert_eq!(page.matches("no grains").count(), 1, "a passed hold stands in the margin only: {page}");
}

#[tokio::test]
async fn two_forms_of_one_step_keep_both_changes_and_ask_where_both_changed_the_same() {
    let desk = desk(None);
    let form = |fields: &str| format!("thing=step&of=dry&was.temperature=105+%C2%B0C&was.duration=14+..+16+h&{fields}");
    let sent = async |fields: &str| desk.post("/p/bluestone/edit", form(fields)).await;
    let text = || desk.office.notebook.read("bluestone").expect("there").text;
    assert!(sent("temperature=110+%C2%B0C&duration=14+..+16+h").await.0.is_redirection());
    // The other page still shows 105 °C and changes the duration only.
    assert!(sent("temperature=105+%C2%B0C&duration=15+h").await.0.is_redirection());
    assert!(text().contains("\"110 °C\"") && text().contains("\"15 h\""), "{}", text());
    let (status, page) = sent("temperature=120+%C2%B0C&duration=14+..+16+h").await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("was changed meanwhile") && page.contains("value=\"120 °C\""), "{page}");
    assert!(page.contains("name=\"was.temperature\" value=\"110 °C\"") && text().contains("\"110 °C\""), "{page}");
    let again = "thing=step&of=dry&was.temperature=110+%C2%B0C&temperature=120+%C2%B0C";
    assert!(desk.post("/p/bluestone/edit", again).await.0.is_redirection());
    assert!(text().contains("\"120 °C\""), "{}", text());
}

#[tokio::test]
async fn the_shelf_tells_at_once_what_the_files_say() {
    let desk = desk(None);
    let (_, page) = desk.get("/shelf").await;
    for part in ["bluestone", "copper sulfate pentahydrate, 98\u{a0}% min", "washing soda", "H318", "being reckoned"] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(!page.contains("Pb(N"), "what is out of bounds stands on no shelf");
    for _ in 0..600 {
        let (_, page) = desk.get("/shelf").await;
        if page.contains("250.0") && !page.contains("being reckoned") {
            return;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    panic!("what is left follows");
}

#[tokio::test]
async fn a_form_tells_while_it_is_filled_in_what_it_would_give_and_writes_nothing() {
    let desk = desk(None);
    let before = desk.office.notebook.read("bluestone").expect("there").text;
    let (status, told) = desk.post("/p/bluestone/edit/try", "thing=step&of=dry&temperature=110+%C2%B0C").await;
    assert!(status == StatusCode::OK && told.contains("if it is saved like this"), "{told}");
    let (_, told) = desk.post("/p/bluestone/edit/try", "thing=step&of=dry&temperature=warm").await;
    assert!(told.contains("warm") && told.contains("wrong"), "{told}");
    let (_, told) = desk.post("/p/bluestone/edit/try", "thing=step&of=dry&take=cake").await;
    assert!(told.contains("between name and amount"), "{told}");
    let (status, _) = desk.post("/p/bluestone/edit/try", "thing=supply&of=bluestone&holds=Pb(N3)2(s)").await;
    assert_eq!(status, StatusCode::FORBIDDEN);
    assert_eq!(desk.office.notebook.read("bluestone").expect("there").text, before);
}

#[tokio::test]
async fn steps_are_moved_and_taken_out_and_what_holds_a_reading_stays() {
    let desk = desk(None);
    let order = || {
        let text = desk.office.notebook.read("small").expect("there").text;
        let names = text.lines().skip_while(|line| *line != "[[step]]").filter(|line| line.starts_with("name"));
        names.map(|line| line.split('"').nth(1).unwrap_or_default().to_owned()).collect::<Vec<_>>()
    };
    for step in ["warm", "rest"] {
        let body = format!(
            "thing=step&new=1&name={step}&action=store&take=liquor+%3D+all&gives={step}+liquor+%3D+all&anyway=1"
        );
        assert!(desk.post("/p/small/edit", body).await.0.is_redirection());
    }
    assert_eq!(order(), ["dissolve", "warm", "rest"]);
    assert!(desk.post("/p/small/move", "of=rest&before=warm").await.0.is_redirection());
    assert_eq!(order(), ["dissolve", "rest", "warm"]);
    assert!(desk.post("/p/small/move", "of=rest").await.0.is_redirection());
    assert_eq!(order(), ["dissolve", "warm", "rest"]);
    assert!(desk.post("/p/small/undo", "").await.0.is_redirection());
    assert_eq!(order(), ["dissolve", "rest", "warm"]);
    for step in ["rest", "warm"] {
        assert!(desk.post("/p/small/remove", format!("thing=step&of={step}")).await.0.is_redirection());
    }
    assert_eq!(desk.post("/p/small/enter", "reading=r1&figure=109.90&key=a").await.0, StatusCode::OK);
    assert_eq!(desk.post("/p/small/remove", "thing=step&of=dissolve").await.0, StatusCode::BAD_REQUEST);
    assert_eq!(order(), ["dissolve"]);
}

#[tokio::test]
async fn a_page_tells_what_the_last_change_moved() {
    let desk = desk(None);
    let (_, page) = desk.get("/p/bluestone").await;
    assert!(!page.contains("What was changed last moved"), "nothing was changed yet");
    desk.in_full("bluestone").await;
    // More copper in the bag: the same weighings are a smaller share of it.
    assert!(desk.post("/p/bluestone/edit", "thing=supply&of=bluestone&assay=%3E%3D+99.9+%25").await.0.is_redirection());
    desk.get("/p/bluestone").await;
    desk.in_full("bluestone").await;
    let (_, page) = desk.get("/p/bluestone").await;
    let told = page.split("What was changed last moved the accounted yield from ").nth(1).expect("it is told");
    let first = |text: &str| text.split([' ', '\u{a0}']).next().and_then(|n| n.parse::<f64>().ok()).expect("a number");
    let after = told.split(" to ").nth(1).expect("two figures");
    assert!(first(after) < first(told), "{told}");
    // Of a further change nothing is known at first, least of all what moved with the one before.
    assert!(desk.post("/p/bluestone/edit", "thing=file&title=Another+title").await.0.is_redirection());
    let now = desk.office.books_at("bluestone", Extent::Plan).expect("books");
    assert_eq!((desk.office.moved("bluestone", &now), now.title()), (None, "Another title".to_owned()));
}

#[tokio::test]
async fn what_is_weighed_out_beside_the_plan_is_asked_about() {
    let desk = desk(None);
    assert!(
        desk.post("/p/small/reading", "step=dissolve&what=charge+bluestone&with=pocket+balance&later=1")
            .await
            .0
            .is_redirection()
    );
    let text = desk.office.notebook.read("small").expect("there").text;
    let preparation = prep::read(text.as_bytes()).preparation.expect("it reads");
    let charge = preparation.steps.iter().flat_map(|s| &s.readings).find(|r| r.charge.is_some()).expect("a charge");
    let judged = |figure: &str| desk.post("/p/small/judge", format!("reading={}&figure={figure}", charge.id.value));
    let (_, near) = judged("10.00").await;
    assert!(near.contains("Inside. Go on.") && near.contains("g, by the plan\""), "{near}");
    let (_, off) = judged("9.30").await;
    assert!(off.contains("Not as planned.") && off.contains("\"verdict\":\"ask\""), "{off}");
    // Far off it is a slip as before.
    assert!(judged("1.00").await.1.contains("Stop."));
}
