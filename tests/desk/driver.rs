//! A browser as the tests drive it: Debian's chromium by its driver, an accessibility engine, and pictures to look at.
#![allow(clippy::unwrap_used, clippy::panic)]

use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

pub const SET_UP: &str = "apt-get install -y chromium chromium-driver && npm install --prefix target/axe axe-core@4";

/// Whether the person who runs the tests chose to leave the browser out.
pub fn skipped() -> bool {
    std::env::var("BRIMWATER_SKIP_BROWSER").is_ok_and(|value| value == "1")
}

pub struct Driver {
    child: Child,
    port: u16,
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Driver {
    pub fn start() -> Self {
        let mut child = Command::new("chromedriver")
            .args(["--port=0"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap_or_else(|error| panic!("chromedriver does not start ({error}). Set up with: {SET_UP}; or leave these tests out with BRIMWATER_SKIP_BROWSER=1"));
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut line = String::new();
        let port = loop {
            line.clear();
            assert!(
                out.read_line(&mut line).unwrap() > 0,
                "chromedriver told no port. Set up with: {SET_UP}"
            );
            let told = line
                .rsplit_once("on port ")
                .and_then(|(_, port)| port.trim().trim_end_matches('.').parse().ok())
                .filter(|port| *port != 0u16);
            if let Some(port) = told {
                break port;
            }
        };
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        Self { child, port }
    }

    pub async fn browser(&self, width: u32, scripts: bool) -> (Client, tempfile::TempDir) {
        let profile = tempfile::tempdir().unwrap();
        let mut options = json!({
            "args": [
                "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-dev-shm-usage",
                "--disable-background-networking", "--disable-component-update", "--disable-sync",
                format!("--user-data-dir={}", profile.path().display()), format!("--window-size={width},900"),
            ],
        });
        if width < 500 {
            options["mobileEmulation"] =
                json!({ "deviceMetrics": { "width": width, "height": 740, "pixelRatio": 2.0 } });
        }
        if !scripts {
            options["prefs"] = json!({ "profile.managed_default_content_settings.javascript": 2 });
        }
        let mut capabilities = serde_json::map::Map::new();
        capabilities.insert("goog:chromeOptions".into(), options);
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(capabilities);
        let client = builder
            .connect(&format!("http://127.0.0.1:{}", self.port))
            .await
            .unwrap_or_else(|error| panic!("chromium does not start ({error}). Set up with: {SET_UP}"));
        (client, profile)
    }
}

pub fn axe() -> String {
    let path = std::env::var("BRIMWATER_AXE").unwrap_or_else(|_| {
        concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/target/axe/node_modules/axe-core/axe.min.js"
        )
        .to_string()
    });
    std::fs::read_to_string(&path).unwrap_or_else(|error| {
        panic!("axe-core is not at {path} ({error}). Set up with: {SET_UP}; or leave these tests out with BRIMWATER_SKIP_BROWSER=1")
    })
}

/// Runs the accessibility engine on the page that is open; WCAG 2.2 A and AA and its own best practice.
pub async fn accessible(client: &Client, engine: &str, page: &str) {
    client.execute(engine, vec![]).await.unwrap();
    let found = client
        .execute_async(
            "const done = arguments[arguments.length - 1];\
             axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})\
             .then(r => done({violations: r.violations.map(v => ({id: v.id, impact: v.impact, nodes: v.nodes.map(n => n.html.slice(0, 160) + ' ' + n.failureSummary)})), passes: r.passes.length}))\
             .catch(e => done({violations: [{id: 'engine failed: ' + e}], passes: 0}));",
            vec![],
        )
        .await
        .unwrap();
    // An engine that checked nothing would find nothing.
    assert!(
        found["passes"].as_u64().unwrap_or(0) > 5,
        "{page}: the engine did not run: {found}"
    );
    let violations = found["violations"].as_array().unwrap();
    assert!(violations.is_empty(), "{page}: {violations:#?}");
}

/// The page must not be wider than the screen.
pub async fn fits(client: &Client, page: &str) {
    let widths = client
        .execute(
            "return [document.documentElement.scrollWidth, document.documentElement.clientWidth];",
            vec![],
        )
        .await
        .unwrap();
    assert!(
        widths[0].as_f64() <= widths[1].as_f64(),
        "{page} is wider than the screen: {widths}"
    );
}

/// Keeps a picture of the whole page when `BRIMWATER_SHOTS` names a folder, to be looked at.
pub async fn picture(client: &Client, name: &str) {
    let Ok(folder) = std::env::var("BRIMWATER_SHOTS") else {
        return;
    };
    let height = client
        .execute("return document.documentElement.scrollHeight;", vec![])
        .await
        .unwrap();
    let width = client
        .execute("return document.documentElement.clientWidth;", vec![])
        .await
        .unwrap();
    let (width, height) = (
        width.as_u64().unwrap_or(1000) as u32,
        height.as_u64().unwrap_or(1000).min(6000) as u32,
    );
    if width > 500 {
        client.set_window_size(width, height + 140).await.unwrap();
    }
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(format!("{folder}/{name}.png"), client.screenshot().await.unwrap()).unwrap();
}

/// Clicks, and waits until another page has taken the place of this one.
pub async fn submit(client: &Client, css: &str) {
    let page = client.find(Locator::Css("html")).await.unwrap();
    client
        .find(Locator::Css(css))
        .await
        .unwrap_or_else(|error| panic!("{css}: {error}"))
        .click()
        .await
        .unwrap();
    for _ in 0..300 {
        if page.tag_name().await.is_err() {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    panic!("{css}: no other page came in 15 seconds")
}

/// Text of an element. A page that is being replaced is looked at again, for two seconds at most.
pub async fn text(client: &Client, css: &str) -> String {
    let mut last = String::new();
    for _ in 0..20 {
        match client.find(Locator::Css(css)).await {
            Ok(element) => match element.text().await {
                Ok(text) => return text,
                Err(error) => last = error.to_string(),
            },
            Err(error) => last = error.to_string(),
        }
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    panic!("{css}: {last}")
}

pub async fn choose(client: &Client, name: &str, value: &str) {
    let css = format!("input[name='{name}'][value='{value}'] + span");
    let tile = client
        .find(Locator::Css(&css))
        .await
        .unwrap_or_else(|error| panic!("{css}: {error}"));
    tile.click().await.unwrap();
}
