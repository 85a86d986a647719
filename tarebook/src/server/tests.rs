//! Does every page answer, and does nothing that is asked of it bring it down?

mod entries;
mod extents;

use super::books::Extent;
use super::*;
use axum::body::Body;
use axum::http::{Request, Response};
use tower::ServiceExt;

const HOST: &str = "127.0.0.1:8347";
const REFUSED: &str =
    "title = \"x\"\ntarget = { substance = \"Pb(N3)2(s)\", amount = \"1 g\" }\naccount_for = \"Pb\"\n";
const SMALL: &str = r#"title = "Invented solution"
account_for = "Cu"

[[supply]]
name = "bluestone"
label = "copper sulfate pentahydrate, 98 % min"
holds = "CuSO4·5H2O(s)"
assay = "98 .. 100 %"

[[instrument]]
name = "pocket balance"
kind = "balance"
resolution = "0.01 g"

[[step]]
name = "dissolve"
action = "dissolve"
take = { bluestone = "10.00 g", water = "100 g" }
gives = { liquor = "all" }
  [[step.reading]]
  id = "r1"
  of = "liquor"
  with = "pocket balance"
"#;

struct Desk {
    app: Router,
    office: Arc<Office>,
    _folder: tempfile::TempDir,
}

fn desk(share: Option<Share>) -> Desk {
    let folder = tempfile::tempdir().expect("a scratch folder");
    let notebook = Notebook::open(folder.path()).expect("a notebook");
    notebook.create("small", SMALL, "begun").expect("created");
    notebook.create("bluestone", crate::commands::EXAMPLES[0].text, "begun").expect("created");
    std::fs::write(folder.path().join("refused.toml"), REFUSED).expect("written");
    std::fs::write(folder.path().join("broken.toml"), "title = ").expect("written");
    let office = Office::new(notebook, 8347, share).expect("an office");
    Desk { app: app(office.clone()), office, _folder: folder }
}

impl Desk {
    async fn send(&self, request: Request<Body>) -> (StatusCode, String, Response<()>) {
        let response = self.app.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let bytes = axum::body::to_bytes(body, 64 << 20).await.expect("a body");
        (parts.status, String::from_utf8_lossy(&bytes).into_owned(), Response::from_parts(parts, ()))
    }

    async fn get(&self, path: &str) -> (StatusCode, String) {
        let request = Request::get(path).header("host", HOST).body(Body::empty()).expect("a request");
        let (status, text, _) = self.send(request).await;
        (status, text)
    }

    /// Waits until the books of a preparation are told in full, as a page asked for.
    async fn in_full(&self, name: &str) {
        let text = self.office.notebook.read(name).expect("there");
        for _ in 0..600 {
            if self.office.books.covering(name, &text.revision, Extent::Whole).is_some() {
                return;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("the books of {name} are never told in full");
    }

    async fn post(&self, path: &str, body: impl Into<Body>) -> (StatusCode, String) {
        let request = Request::post(path)
            .header("host", HOST)
            .header("content-type", "application/x-www-form-urlencoded")
            .body(body.into())
            .expect("a request");
        let (status, text, _) = self.send(request).await;
        (status, text)
    }
}

const PAGES: [&str; 27] = [
    "/",
    "/?q=copper&state=running",
    "/new",
    "/backup",
    "/bench",
    "/shelf",
    "/shelf/labels",
    "/questions",
    "/questions/losses",
    "/questions/replicates",
    "/questions/replicates?of=small&of=bluestone",
    "/pair",
    "/p/bluestone",
    "/p/bluestone/edit?kind=step&of=dry",
    "/p/bluestone/edit?kind=file",
    "/p/bluestone/edit?kind=supply&new=1",
    "/p/bluestone/file",
    "/p/bluestone/versions",
    "/p/bluestone/account",
    "/p/bluestone/account?claim=24.4+g+Cu",
    "/p/bluestone/paper/sheet.html",
    "/p/bluestone/figure/flow-Cu.svg",
    "/p/bluestone/bench",
    "/p/small/bench?at=0",
    "/assets/page.css",
    "/questions/label?label=zinc+50+mg",
    "/favicon.ico",
];
/// Pages that have tests of their own.
const APART: [&str; 2] = ["/photos/x.png", "/events"];
const POSTS: [&str; 16] = [
    "/p/small/reading",
    "/p/small/enter",
    "/p/small/correct",
    "/p/small/hold",
    "/p/small/judge",
    "/p/small/edit",
    "/p/small/edit/try",
    "/p/small/move",
    "/p/small/remove",
    "/p/small/file",
    "/p/small/photo?reading=r1",
    "/p/small/undo",
    "/p/small/try",
    "/p/small/close",
    "/new",
    "/pair",
];

#[tokio::test]
async fn every_page_answers_and_may_load_nothing_from_elsewhere() {
    let desk = desk(None);
    for page in PAGES {
        let request = Request::get(page).header("host", HOST).body(Body::empty()).expect("a request");
        let (status, text, response) = desk.send(request).await;
        assert_eq!(status, StatusCode::OK, "{page}: {text}");
        let policy = response.headers().get("content-security-policy").expect("a policy").to_str().expect("text");
        assert!(policy.starts_with("default-src 'none'") && !policy.contains("unsafe"), "{page}");
        // A paper is sent as a file and brings its own styles.
        let file = response.headers().contains_key("content-disposition");
        assert!(file || !text.contains("style=\"") && !text.contains("src=\"http"), "{page}");
    }
    for key in super::desks::DESKS.map(|desk| desk.key) {
        let (_, page) = desk.get(&format!("/questions/{key}")).await;
        let link = page.split("For instance: <a href=\"").nth(1).and_then(|rest| rest.split('"').next());
        let link = link.expect("an example").replace("&amp;", "&");
        let (status, answer) = desk.get(&link).await;
        assert_eq!(status, StatusCode::OK, "{key}");
        assert!(answer.contains("class=\"answer\""), "{key}: the example is answered: {answer}");
    }
}

/// Every address that the application answers to is asked by a test, in the way it answers to.
#[test]
fn every_handler_has_its_test() {
    let source = include_str!("mod.rs");
    let routes: Vec<(&str, &str)> = source
        .split(".route(\"")
        .skip(1)
        .filter_map(|rest| rest.split_once('"').map(|(path, rest)| (path, rest.lines().next().unwrap_or_default())))
        .collect();
    assert!(routes.len() > 30, "{routes:?}");
    let fits = |route: &str, asked: &str| {
        let asked = asked.split('?').next().unwrap_or_default();
        let (route, asked): (Vec<&str>, Vec<&str>) = (route.split('/').collect(), asked.split('/').collect());
        route.len() == asked.len() && route.iter().zip(asked).all(|(r, a)| *r == a || r.starts_with('{'))
    };
    for (route, how) in routes {
        let asked = |list: &[&str]| list.iter().any(|asked| fits(route, asked));
        assert!(!how.contains("get(") || asked(&PAGES) || asked(&APART), "nobody asks for {route}");
        assert!(!how.contains("post(") || asked(&POSTS), "nobody sends to {route}");
    }
}

#[tokio::test]
async fn odd_questions_and_names_do_not_bring_a_page_down() {
    let desk = desk(None);
    let odd = [
        "%ff",
        "%00",
        "..%2f..%2fetc%2fpasswd",
        "%27%3B--",
        "9999999999999999999999",
        "-1",
        "%F0%9F%A7%AA",
        "%3Cscript%3E",
    ];
    let places =
        ["at", "kind", "of", "new", "before", "claim", "q", "state", "code", "label", "solid", "take", "reading"];
    for page in PAGES.iter().chain(&APART).filter(|page| **page != "/events") {
        let bare = page.split('?').next().unwrap_or_default();
        for value in odd {
            let query: Vec<String> = places.iter().map(|key| format!("{key}={value}")).collect();
            let (status, text) = desk.get(&format!("{bare}?{}", query.join("&"))).await;
            assert!(!status.is_server_error(), "{bare} {value}: {status} {text}");
            assert!(!text.contains("<script>alert") && !text.contains("root:"), "{bare} {value}");
        }
    }
    for path in POSTS.iter().chain(PAGES.iter()).filter(|path| path.starts_with("/p/")) {
        let rest = path.splitn(4, '/').nth(3).unwrap_or_default();
        for name in ["..%2f..%2fetc%2fpasswd", "%2e%2e", ".hidden", "a%00b", "%ff", "nothing"] {
            let address = format!("/p/{name}/{rest}");
            let (got, sent) = (desk.get(&address).await, desk.post(&address, "key=k&reading=r1&figure=1").await);
            for (status, text) in [got, sent] {
                // Words may be tried under a name that is still free.
                let free = name == "nothing" && rest == "try";
                assert!(free || status.is_client_error(), "{address}: {status}");
                assert!(!text.contains("root:"), "{address}");
            }
        }
    }
}

#[tokio::test]
async fn pages_are_told_of_changes() {
    let desk = desk(None);
    let request = Request::get("/events").header("host", HOST).body(Body::empty()).expect("a request");
    let response = desk.app.clone().oneshot(request).await.expect("an answer");
    let mut told = response.into_body().into_data_stream();
    assert_eq!(desk.post("/p/small/enter", "reading=r1&figure=109.90&key=a").await.0, StatusCode::OK);
    let first = told.next().await.expect("an event").expect("its bytes");
    assert_eq!(String::from_utf8_lossy(&first), "event: changed\ndata: small\n\n");
}

#[tokio::test]
async fn a_paper_is_a_file_and_a_report_waits_for_a_weighing() {
    let desk = desk(None);
    let request = |path: &str| Request::get(path).header("host", HOST).body(Body::empty()).expect("a request");
    let (status, _, response) = desk.send(request("/p/small/paper/sheet.pdf")).await;
    assert_eq!(status, StatusCode::OK);
    let named = response.headers().get("content-disposition").expect("a name").to_str().expect("text").to_owned();
    assert!(named.contains("attachment") && named.contains("small-sheet.pdf"), "{named}");
    let (status, text) = desk.get("/p/small/paper/report.pdf").await;
    assert!(status == StatusCode::BAD_REQUEST && text.contains("Nothing was weighed yet"), "{status} {text}");
    for nothing in ["report", "report.exe", "other.pdf", "..%2fx.pdf"] {
        assert_eq!(desk.get(&format!("/p/small/paper/{nothing}")).await.0, StatusCode::NOT_FOUND, "{nothing}");
    }
    assert_eq!(desk.get("/p/refused/paper/sheet.pdf").await.0, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_weighing_is_planned_and_a_thing_renamed_by_forms() {
    let desk = desk(None);
    let planned = "step=dissolve&what=charge+bluestone&with=pocket+balance&later=1&figure=";
    assert!(desk.post("/p/small/reading", planned).await.0.is_redirection());
    let form = "thing=supply&of=bluestone&name=blue+vitriol";
    assert!(desk.post("/p/small/edit", form).await.0.is_redirection());
    let form = "thing=step&of=dissolve&gives=blue+liquor+%3D+all";
    assert!(desk.post("/p/small/edit", form).await.0.is_redirection());
    let text = desk.office.notebook.read("small").expect("there").text;
    assert!(text.contains("charge = \"blue vitriol\"") && text.contains("\"blue vitriol\" = \"10.00 g\""), "{text}");
    assert!(text.contains("of = \"blue liquor\"") && !text.contains("weigh"), "{text}");
    assert!(prep::read(text.as_bytes()).preparation.is_some(), "{text}");
    // What was planned can be taken back; it is no reading yet.
    assert!(desk.post("/p/small/undo", "").await.0.is_redirection());
    let form = "thing=instrument&of=pocket+balance&name=fine+balance&kind=balance&resolution=0.001+g";
    assert!(desk.post("/p/small/edit", form).await.0.is_redirection(), "the kind of a balance is a field of its own");
    let (status, page) = desk.post("/p/small/edit", "thing=supply&of=blue+vitriol&name=").await;
    assert!(status == StatusCode::OK && page.contains("needs a name"), "{page}");
}

#[tokio::test]
async fn the_list_keeps_its_lines_until_a_file_changes() {
    let desk = desk(None);
    desk.office.line_now("small").expect("a line");
    let shown = |office: &Office| office.books.shown(&office.notebook.stamps().expect("stamps"));
    let line = |office: &Office| shown(office).into_iter().find(|(name, _)| name == "small").map(|(_, shown)| shown);
    assert!(matches!(line(&desk.office), Some(super::kept::Shown::Now(_))));
    // Another program opens the same folder: the line comes from the index.
    let again = Notebook::open(desk.office.notebook.folder()).expect("a notebook");
    let again = Office::new(again, 8347, None).expect("an office");
    let Some(super::kept::Shown::Now(kept)) = line(&again) else { panic!("the index knows the line") };
    assert_eq!(kept.title, "Invented solution");
    let path = desk.office.notebook.path("small").expect("a path");
    std::fs::write(&path, SMALL.replace("Invented solution", "Another solution")).expect("written");
    assert!(matches!(line(&again), Some(super::kept::Shown::Before(_))));
    again.line_now("small").expect("a line");
    let Some(super::kept::Shown::Now(now)) = line(&again) else { panic!("the line is of the present file") };
    assert_eq!(now.title, "Another solution");
}

/// What an answer draws stands on its page, at both widths, with its numbers as a table.
#[tokio::test]
async fn answers_are_drawn_on_their_pages() {
    let desk = desk(None);
    let asked = [
        ("solution?substances=CuSO4+0.1+mol/kg&add=NaOH&to_ph=5.5&windows=yes&redox=Cu", 4),
        ("solution?substances=ZnSO4+0.01+mol/kg&excess=Na2C2O4&excess_of=Zn", 1),
        ("reaction?reaction=2+Zn+%2B+O2+-%3E+2+ZnO&beside=2+C+%2B+O2+-%3E+2+CO", 1),
        ("ignite?lots=CaC2O4%C2%B7H2O(s)+10+g&in=own+gas&at=700+%C2%B0C&found=68.4+%25", 2),
    ];
    for (question, figures) in asked {
        let (status, page) = desk.get(&format!("/questions/{question}")).await;
        assert_eq!(status, StatusCode::OK, "{question}");
        assert_eq!(page.matches("<figure class=\"fig\">").count(), figures, "{question}");
        assert_eq!(page.matches("role=\"img\" aria-label=\"").count() / 2, figures, "{question}: wide and narrow");
        assert_eq!(page.matches("<details class=\"numbers\">").count(), figures, "{question}: the numbers");
    }
}

#[tokio::test]
async fn refused_preparations_answer_with_the_refusal_everywhere() {
    let desk = desk(None);
    for page in ["", "/account", "/bench", "/figure/flow-Pb", "/edit?kind=file"] {
        let (status, text) = desk.get(&format!("/p/refused{page}")).await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{page}");
        assert!(text.contains("Nothing has been computed"), "{page}: {text}");
    }
    for page in ["reading", "enter", "correct", "hold", "judge", "edit", "move", "remove", "close", "photo"] {
        let (status, _) = desk.post(&format!("/p/refused/{page}"), "reading=r1&figure=1&key=k").await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{page}");
    }
    let text = super::page::address(REFUSED);
    let (status, _) = desk.post("/p/small/file", format!("base=x&text={text}")).await;
    assert_eq!(status, StatusCode::FORBIDDEN);
    let (status, _) = desk.post("/new", "title=x&target=Pb(N3)2(s)&amount=1+g").await;
    assert_eq!(status, StatusCode::FORBIDDEN);
    let (status, _) = desk.post("/p/small/edit", "thing=file&target.substance=Pb(N3)2(s)&target.amount=1+g").await;
    assert_eq!(status, StatusCode::FORBIDDEN);
    let (status, _) = desk.get("/questions/reaction?reaction=Pb%2B2+N3-+-%3E+Pb(N3)2(s)").await;
    assert_ne!(status, StatusCode::INTERNAL_SERVER_ERROR);
    let cyanide = "/questions/gas?reaction=NaCN(s)+%2B+HCl(aq)+-%3E+NaCl(aq)+%2B+HCN(g)&take=1+g+NaCN";
    assert_eq!(desk.get(cyanide).await.0, StatusCode::FORBIDDEN);
    // By name, and by what an equilibrium makes of what is named.
    for question in [
        "crystallise?substance=potassium+chlorate&from=60+%C2%B0C&to=10+%C2%B0C",
        "equilibrium?lots=Ca3(PO4)2(s)+1+mol%0AC(s)+8+mol&at=1400+%C2%B0C",
        "reaction?reaction=KNO3(s)+%2B+H2SO4(l)+-%3E+KHSO4(s)+%2B+HNO3(g)",
    ] {
        assert_eq!(desk.get(&format!("/questions/{question}")).await.0, StatusCode::FORBIDDEN, "{question}");
    }
    // The file itself stays open: that is the way back.
    assert_eq!(desk.get("/p/refused/file").await.0, StatusCode::OK);
    assert_eq!(desk.get("/p/broken").await.0, StatusCode::OK);
}

#[tokio::test]
async fn malformed_bodies_are_told_and_change_nothing() {
    let desk = desk(None);
    let bodies: [&[u8]; 7] = [
        b"",
        b"%%%",
        b"\xff\xfe\x00",
        b"figure=",
        b"reading=r1&figure=%00&key=k&step=dissolve&what=of+liquor",
        b"thing=nothing&of=x",
        b"reading=%27%3B--&figure=1e999&key=q&reason=x&step=%5D%5D%5D&seen=",
    ];
    for path in POSTS {
        for body in bodies.into_iter().filter(|_| !path.ends_with("/close")) {
            let (status, text) = desk.post(path, body.to_vec()).await;
            let known = status.is_client_error() || status.is_redirection() || status == StatusCode::OK;
            assert!(known, "{path} {status}: {text}");
        }
    }
    let page = desk.office.notebook.read("small").expect("there");
    assert!(prep::read(page.text.as_bytes()).preparation.is_some(), "{}", page.text);
    assert!(!page.text.contains("weigh"), "{}", page.text);
}

#[tokio::test]
async fn paths_do_not_leave_the_folder() {
    let desk = desk(None);
    for name in ["..%2f..%2fetc%2fpasswd", "%2e%2e%2fx", "a%00b", "..", ".hidden", "a%5cb", "%ff"] {
        for page in ["", "/file", "/account", "/bench", "/versions"] {
            let (status, text) = desk.get(&format!("/p/{name}{page}")).await;
            assert!(status.is_client_error(), "{name}{page}: {status}");
            assert!(!text.contains("root:"), "{name}");
        }
    }
    for file in ["..%2fhistory.sqlite", "history.sqlite", "..%2f..%2fCargo.toml"] {
        assert_eq!(desk.get(&format!("/assets/{file}")).await.0, StatusCode::NOT_FOUND);
        assert_eq!(desk.get(&format!("/photos/{file}")).await.0, StatusCode::NOT_FOUND);
    }
}

#[tokio::test]
async fn what_is_too_large_is_turned_away() {
    let desk = desk(None);
    let (status, _) = desk.post("/p/small/file", vec![b'a'; LARGEST_BODY + 1]).await;
    assert!(matches!(status, StatusCode::PAYLOAD_TOO_LARGE | StatusCode::BAD_REQUEST), "{status}");
    let (status, told) = desk.post("/p/small/photo?reading=r1", vec![0xff; LARGEST_BODY + 1]).await;
    assert_eq!(status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(told.contains("16 MB"), "{told}");
}

#[tokio::test]
async fn strangers_are_turned_away() {
    let desk = desk(None);
    let cases: [&[(&str, &str)]; 5] = [
        &[("host", "evil.example")],
        &[],
        &[("host", HOST), ("origin", "http://evil.example")],
        &[("host", HOST), ("origin", "null")],
        &[("host", HOST), ("sec-fetch-site", "cross-site")],
    ];
    for headers in cases {
        let mut request = Request::post("/p/small/undo");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let (status, _, _) = desk.send(request.body(Body::empty()).expect("a request")).await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{headers:?}");
    }
}

#[tokio::test]
async fn a_shared_notebook_goes_by_where_a_request_comes_from_not_by_the_name_it_asks_for() {
    let share = Share { address: "192.0.2.7".parse().expect("an address"), code: "ABCD-2345".to_owned() };
    let desk = desk(Some(share));
    let ask = |method: &str, host: &str, from: &str, forwarded: bool| {
        let mut request = Request::builder().method(method).uri("/p/small/enter").header("host", host);
        if forwarded {
            request = request.header("x-forwarded-for", from);
        }
        let from: std::net::SocketAddr = format!("{from}:40000").parse().expect("an address");
        let request = request.extension(axum::extract::ConnectInfo(from));
        desk.send(request.body(Body::empty()).expect("a request"))
    };
    for host in [HOST, "localhost:8347", "192.0.2.7:8347"] {
        assert_eq!(ask("POST", host, "192.0.2.9", false).await.0, StatusCode::UNAUTHORIZED, "{host}");
        assert!(ask("GET", host, "192.0.2.9", false).await.0.is_redirection(), "{host}");
        assert!(ask("GET", host, "127.0.0.1", true).await.0.is_redirection(), "{host} through another server");
    }
    assert_eq!(ask("POST", HOST, "127.0.0.1", false).await.0, StatusCode::BAD_REQUEST, "this machine needs no code");
    assert_eq!(ask("POST", "192.0.2.7:8347", "127.0.0.1", false).await.0, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn a_shared_notebook_lets_a_device_in_by_the_code_once() {
    let share = Share { address: "192.0.2.7".parse().expect("an address"), code: "ABCD-2345".to_owned() };
    let desk = desk(Some(share));
    let host = "192.0.2.7:8347";
    let ask = |path: &str, cookie: &str| {
        let request = Request::get(path).header("host", host).header("cookie", cookie);
        desk.send(request.body(Body::empty()).expect("a request"))
    };
    assert!(ask("/", "").await.0.is_redirection());
    let pair = |code: &'static str| {
        let request = Request::post("/pair").header("host", host);
        let request = request.header("content-type", "application/x-www-form-urlencoded");
        desk.send(request.body(Body::from(format!("code={code}"))).expect("a request"))
    };
    assert_eq!(pair("WRONG").await.0, StatusCode::FORBIDDEN);
    let (status, _, response) = pair("abcd2345").await;
    assert!(status.is_redirection());
    let cookie = response.headers().get("set-cookie").expect("a cookie").to_str().expect("text").to_owned();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"));
    let own = cookie.split(';').next().expect("a pair").to_owned();
    assert_eq!(ask("/", &own).await.0, StatusCode::OK);
    assert_eq!(pair("ABCD-2345").await.0, StatusCode::FORBIDDEN, "the code works once");
}
