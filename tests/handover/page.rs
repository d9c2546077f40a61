//! The page in a real browser: sliders move, the picture changes, nothing is asked of any network.

use std::{
    fs,
    io::Read,
    net::TcpListener,
    path::Path,
    process::{Command, Stdio},
    time::{Duration, Instant},
};

use serde_json::Value;

use super::{can_draw, good, small_room, tool};

/// Steps that a person would take, done by a script in a copy of the page; then
/// it goes to an address of this test, which is how the test hears what it found.
const STEPS: &str = r##"<script>
addEventListener("load", async () => {
  const found = {};
  try {
    const wait = (ms) => new Promise((done) => setTimeout(done, ms));
    const at = (id) => document.getElementById(id);
    const picture = () => { const p = document.querySelector("#frame").lastElementChild; return (p && (p.src || p.textContent)) || ""; };
    const until = async (test) => { for (let i = 0; i < 100 && !test(); i++) await wait(150); return test(); };
    const slide = async (id, value) => { const s = at(id); s.value = value; s.dispatchEvent(new Event("input", { bubbles: true })); await wait(400); };
    await wait(400);
    await slide("walk", 0); await slide("day", 0);
    found.first = picture().length; const first = picture(); const place = at("where").textContent;
    await slide("walk", at("walk").max);
    found.walked = await until(() => picture() !== first); found.place = at("where").textContent !== place; found.words = at("walk").getAttribute("aria-valuetext");
    const last = picture();
    await slide("day", at("day").max);
    found.waited = await until(() => picture() !== last); found.clock = at("day").getAttribute("aria-valuetext");
    const buttons = document.querySelectorAll("#switch button");
    found.states = buttons.length;
    if (buttons.length > 1) { const before = picture(); buttons[1].click(); found.switched = await until(() => picture() !== before); }
    found.asked = performance.getEntriesByType("resource").map((r) => r.name).filter((n) => !n.startsWith("data:"));
    found.wide = document.documentElement.scrollWidth <= document.documentElement.clientWidth;
    found.cells = document.querySelectorAll("#chart svg rect").length;
  } catch (error) { found.error = String(error); }
  location.href = "http://127.0.0.1:PORT/" + encodeURIComponent(JSON.stringify(found));
});
</script></body>"##;

fn in_browser(page: &Path, size: &str) -> Option<Value> {
    tool("chromium", &["--version"])?;
    let folder = tempfile::tempdir().unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    let html = fs::read_to_string(page).unwrap();
    let copy = folder.path().join("copy.html");
    assert_eq!(html.matches("</body>").count(), 1);
    let steps = STEPS.replace("PORT", &port.to_string());
    fs::write(&copy, html.replace("</body>", &steps)).unwrap();
    let log = folder.path().join("log.txt");
    let profile = folder.path().join("profile");
    let mut browser = Command::new("chromium")
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--enable-logging=stderr",
            "--remote-debugging-port=0",
        ])
        .arg(format!("--window-size={size}"))
        .arg(format!("--user-data-dir={}", profile.display()))
        .arg(format!("file://{}", copy.display()))
        .stdout(Stdio::null())
        .stderr(fs::File::create(&log).unwrap())
        .spawn()
        .unwrap();
    listener.set_nonblocking(true).unwrap();
    let begin = Instant::now();
    let heard = loop {
        if let Ok((mut stream, _)) = listener.accept() {
            stream.set_nonblocking(false).unwrap();
            let mut line = [0; 8192];
            let count = stream.read(&mut line).unwrap();
            let line = String::from_utf8_lossy(&line[..count]).into_owned();
            // "GET /what-it-found HTTP/1.1"; a browser may also ask for an icon of this address.
            break line.split_whitespace().nth(1).unwrap().to_owned();
        }
        if begin.elapsed() > Duration::from_secs(60) {
            break String::new();
        }
        std::thread::sleep(Duration::from_millis(50));
    };
    let _ = browser.kill();
    let _ = browser.wait();
    let log = fs::read_to_string(&log).unwrap_or_default();
    assert!(!log.contains(":CONSOLE"), "the page complains: {log}");
    let found = decoded(heard.trim_start_matches('/'));
    Some(serde_json::from_str(&found).unwrap_or_else(|e| panic!("{e}: {found:?}: {log}")))
}

/// Text of an address, RFC 3986, section 2.1.
fn decoded(address: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = address.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let hex = [rest.next().unwrap(), rest.next().unwrap()];
            let hex = std::str::from_utf8(&hex).unwrap().to_owned();
            bytes.push(u8::from_str_radix(&hex, 16).unwrap());
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).unwrap()
}

#[test]
fn a_browser_slides_switches_and_asks_for_nothing() {
    if !can_draw() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(small_room()).unwrap();
    let other = folder.path().join("other.ron");
    fs::write(&other, text.replace("flux_lm: 700", "flux_lm: 70")).unwrap();
    let page = folder.path().join("page.html");
    let told: Value = serde_json::from_str(&good(&[
        "page",
        small_room().to_str().unwrap(),
        "--against",
        other.to_str().unwrap(),
        "--out",
        page.to_str().unwrap(),
        "--size",
        "160x90",
        "--stations",
        "4",
        "--json",
    ]))
    .unwrap();
    assert_eq!((&told["stations"], &told["states"]), (&4.into(), &2.into()));
    assert!(told["bytes"].as_u64().unwrap() < 15_000_000);
    let html = fs::read_to_string(&page).unwrap();
    assert_eq!(html.matches("data:image/jpeg").count(), 4 * 5 * 2);
    for size in ["1280,800", "390,844"] {
        let Some(found) = in_browser(&page, size) else {
            return;
        };
        assert_eq!(found["error"], Value::Null, "{found}");
        for what in ["walked", "waited", "place", "switched", "wide"] {
            assert_eq!(found[what], true, "{what} at {size}: {found}");
        }
        assert!(found["first"].as_u64() > Some(500), "{found}");
        assert_eq!(found["states"], 2);
        assert_eq!(found["asked"], serde_json::json!([]));
        assert!(found["words"].as_str().unwrap().contains("2.0"), "{found}");
        assert!(
            found["clock"].as_str().unwrap().contains("14:00"),
            "{found}"
        );
    }
}

#[test]
fn a_name_cannot_break_out_of_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(small_room()).unwrap();
    let room = folder.path().join("room.ron");
    let nasty = "</script><script>alert(1)</script><b>&";
    fs::write(
        &room,
        text.replace("name: \"Small room\"", &format!("name: \"{nasty}\"")),
    )
    .unwrap();
    let page = folder.path().join("page.html");
    good(&[
        "page",
        room.to_str().unwrap(),
        "--out",
        page.to_str().unwrap(),
        "--no-pictures",
    ]);
    let html = fs::read_to_string(&page).unwrap();
    assert!(!html.contains("<script>alert"), "a tag came through");
    assert!(!html.contains("<b>&"), "a tag came through");
    assert!(html.contains("default-src 'none'"));
}
