//! The page in a real browser: sliders move, the picture changes, nothing is asked of any network.

use std::{fs, path::Path};

use serde_json::Value;

use super::{can_draw, good, small_room, tool};

/// Steps that a person would take, done by a script in a copy of the page; what it found stands in the title.
const STEPS: &str = r##"<script>
addEventListener("load", async () => {
  const found = {};
  try {
    // The browser's clock runs ahead of its decoder: each wait also waits for a picture.
    const breathe = async () => { const i = new Image(); i.src = document.getElementById("plan-image").src; try { await i.decode(); } catch (_) {} };
    const wait = async (ms) => { await new Promise((done) => setTimeout(done, ms)); await breathe(); };
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
  document.title = "found " + JSON.stringify(found);
});
</script></body>"##;

fn in_browser(page: &Path, size: &str) -> Option<Value> {
    let folder = tempfile::tempdir().unwrap();
    let html = fs::read_to_string(page).unwrap();
    let copy = folder.path().join("copy.html");
    assert_eq!(html.matches("</body>").count(), 1);
    fs::write(&copy, html.replace("</body>", STEPS)).unwrap();
    let address = format!("file://{}", copy.display());
    let profile = format!(
        "--user-data-dir={}",
        folder.path().join("profile").display()
    );
    let size = format!("--window-size={size}");
    let args = [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--enable-logging=stderr",
        "--virtual-time-budget=60000",
        &size,
        &profile,
        "--dump-dom",
        &address,
    ];
    let output = tool("chromium", &args)?;
    let log = String::from_utf8_lossy(&output.stderr);
    assert!(!log.contains(":CONSOLE"), "the page complains: {log}");
    let dom = String::from_utf8(output.stdout).unwrap();
    let title = dom
        .split("<title>")
        .nth(1)
        .unwrap()
        .split("</title>")
        .next()
        .unwrap();
    let found = title
        .strip_prefix("found ")
        .unwrap_or_else(|| panic!("{title}: {log}"));
    Some(serde_json::from_str(&found.replace("&quot;", "\"").replace("&amp;", "&")).unwrap())
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
