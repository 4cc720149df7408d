//! A browser without a window, spoken to as the W3C's WebDriver says: Debian's chromium and chromium-driver.

// No test uses all of it.
#![allow(dead_code)]

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// A browser with one window.
pub struct Browser {
    driver: Child,
    agent: ureq::Agent,
    session: String,
}

impl Browser {
    /// Opens one; none where there is none, which is said aloud. Where `BYWASH_NEEDS_BROWSER` is set it must be there.
    pub fn open() -> Option<Self> {
        let driver =
            Command::new("chromedriver").args(["--port=0"]).stdout(Stdio::piped()).stderr(Stdio::null()).spawn();
        let Ok(mut driver) = driver else {
            assert!(std::env::var_os("BYWASH_NEEDS_BROWSER").is_none(), "chromium-driver is not here and must be");
            println!("NO BROWSER HERE: THE PAGE WAS NOT TRIED (Debian: chromium, chromium-driver)");
            return None;
        };
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = lines.find_map(|line| {
            let line = line.unwrap();
            line.split_once("successfully on port ").map(|(_, port)| port.trim_end_matches('.').to_owned())
        });
        std::thread::spawn(move || lines.for_each(drop));
        let agent = ureq::Agent::config_builder().http_status_as_error(false).build().into();
        let mut browser = Self { driver, agent, session: format!("http://127.0.0.1:{}/session", port.unwrap()) };
        let options = json!({"args": ["--headless=new", "--no-sandbox", "--disable-gpu", "--window-size=1280,1000"]});
        let about = browser.ask(
            "",
            &json!({"capabilities": {"alwaysMatch": {
                "browserName": "chrome",
                "goog:chromeOptions": options,
                "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"},
            }}}),
        );
        browser.session = format!("{}/{}", browser.session, about["sessionId"].as_str().unwrap());
        Some(browser)
    }

    fn ask(&self, path: &str, body: &Value) -> Value {
        let request = self.agent.post(format!("{}{path}", self.session)).header("Content-Type", "application/json");
        let mut answer = request.send(body.to_string()).unwrap();
        let text = answer.body_mut().with_config().limit(64 << 20).read_to_string().unwrap();
        let mut value: Value = serde_json::from_str(&text).unwrap();
        assert!(answer.status().is_success(), "{path} {body}: {text}");
        value["value"].take()
    }

    /// Goes to a file, at a fragment.
    pub fn go(&self, file: &Path, fragment: &str) {
        // A fragment of the page one is on would not load it again.
        self.ask("/url", &json!({"url": "about:blank"}));
        self.ask("/url", &json!({"url": format!("file://{}{fragment}", file.canonicalize().unwrap().display())}));
        self.until("return document.documentElement.classList.contains('ready')");
    }

    /// What a script gives back.
    pub fn js(&self, script: &str) -> Value {
        self.ask("/execute/sync", &json!({"script": script, "args": []}))
    }

    /// What a script hands on when it is done, to a function that is its last argument.
    pub fn js_later(&self, script: &str) -> Value {
        self.ask("/timeouts", &json!({"script": 120_000}));
        self.ask("/execute/async", &json!({"script": script, "args": []}))
    }

    /// A script's answer as text.
    pub fn text(&self, script: &str) -> String {
        self.js(script).as_str().unwrap_or_default().to_owned()
    }

    /// Waits until a script says yes.
    pub fn until(&self, script: &str) {
        let begun = Instant::now();
        while self.js(script) != json!(true) {
            assert!(
                begun.elapsed() < Duration::from_secs(20),
                "never: {script}\n{}",
                self.text("return location.href")
            );
            std::thread::sleep(Duration::from_millis(40));
        }
    }

    /// Presses keys, one after the other: letters, or WebDriver's names of keys in its private range.
    pub fn press(&self, keys: &str) {
        let actions: Vec<Value> = keys
            .chars()
            .flat_map(|key| [json!({"type": "keyDown", "value": key}), json!({"type": "keyUp", "value": key})])
            .collect();
        self.ask("/actions", &json!({"actions": [{"type": "key", "id": "keys", "actions": actions}]}));
    }

    fn cdp(&self, cmd: &str, params: Value) -> Value {
        self.ask("/goog/cdp/execute", &json!({"cmd": cmd, "params": params}))
    }

    /// Seconds that the page's own thread has worked, whatever else the machine does.
    pub fn worked(&self) -> f64 {
        self.cdp("Performance.enable", json!({"timeDomain": "threadTicks"}));
        let all = self.cdp("Performance.getMetrics", json!({}));
        let of = all["metrics"].as_array().unwrap().iter().find(|one| one["name"] == "ThreadTime");
        of.unwrap()["value"].as_f64().unwrap()
    }

    /// The words seen of a file whose scripts are not run.
    pub fn without_scripts(&self, file: &Path) -> String {
        self.cdp("Emulation.setScriptExecutionDisabled", json!({"value": true}));
        self.ask("/url", &json!({"url": format!("file://{}", file.canonicalize().unwrap().display())}));
        // What is out of sight is laid out later than it is asked for here: it is read until it stays as it is.
        let read = || {
            self.text(
                "document.querySelectorAll('.part').forEach((part) => { part.style.contentVisibility = 'visible'; }); \
                 return document.readyState + document.body.innerText",
            )
        };
        let mut words = read();
        for _ in 0..50 {
            std::thread::sleep(std::time::Duration::from_millis(100));
            let again = read();
            if again == words && words.starts_with("complete") {
                break;
            }
            words = again;
        }
        self.cdp("Emulation.setScriptExecutionDisabled", json!({"value": false}));
        words
    }

    /// A window as wide and high; colours as asked for.
    pub fn dress(&self, width: u32, height: u32, scheme: &str, motion: &str) {
        self.cdp(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false}),
        );
        let features = json!([
            {"name": "prefers-color-scheme", "value": scheme}, {"name": "prefers-reduced-motion", "value": motion}
        ]);
        self.cdp("Emulation.setEmulatedMedia", json!({"features": features}));
    }

    /// What the console says, at whatever level.
    pub fn console(&self) -> Vec<String> {
        let lines = self.ask("/se/log", &json!({"type": "browser"}));
        lines.as_array().unwrap().iter().map(|line| line["message"].as_str().unwrap().to_owned()).collect()
    }

    /// Addresses asked for since last looked, by whatever page.
    pub fn requests(&self) -> Vec<String> {
        let lines = self.ask("/se/log", &json!({"type": "performance"}));
        let events = lines.as_array().unwrap().iter().map(|line| {
            let event: Value = serde_json::from_str(line["message"].as_str().unwrap()).unwrap();
            event["message"].clone()
        });
        let asked = events.filter(|event| event["method"] == "Network.requestWillBeSent");
        asked.map(|event| event["params"]["request"]["url"].as_str().unwrap().to_owned()).collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.agent.delete(&self.session).call();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// Nothing asked of a network, nothing wrong in the console.
pub fn is_quiet(browser: &Browser) {
    assert_eq!(browser.console(), Vec::<String>::new());
    let others: Vec<String> = browser
        .requests()
        .into_iter()
        .filter(|url| !["file:///", "data:font/", "about:"].iter().any(|own| url.starts_with(own)))
        .collect();
    assert_eq!(others, Vec::<String>::new());
    let more = "return performance.getEntriesByType('resource').filter(one => !one.name.startsWith('data:')).length";
    assert_eq!(browser.js(more), json!(0));
}

/// What the rules of accessibility ask (W3C, Web Content Accessibility Guidelines 2.1) and a script can see.
pub const RULES: &str = r#"
const wrong = [];
const tell = (rule, one) => wrong.push(rule + ": " + one.outerHTML.slice(0, 160));
const seen = (one) => one.checkVisibility();
const name = (one) => (one.getAttribute("aria-label") || (one.labels && [...one.labels].map((label) => label.textContent).join()) || one.textContent || "").trim();
if (!document.documentElement.lang || !document.title.trim()) wrong.push("language and title");
for (const mark of ["header", "nav", "main", "footer", "h1"]) if (document.querySelectorAll("body " + mark + ":not(article *, section *)").length < 1) wrong.push("no " + mark);
if (document.querySelectorAll("main").length !== 1 || document.querySelectorAll("h1").length !== 1) wrong.push("one main, one h1");
const ids = new Set();
for (const one of document.querySelectorAll("[id]")) { if (ids.has(one.id)) tell("an id twice", one); ids.add(one.id); }
for (const one of document.querySelectorAll("[aria-labelledby], [aria-describedby], [aria-controls]"))
  for (const kind of ["aria-labelledby", "aria-describedby", "aria-controls"])
    for (const id of (one.getAttribute(kind) || "").split(" ").filter(Boolean)) if (!ids.has(id)) tell("points to nothing", one);
for (const one of document.querySelectorAll("a[href^='#']")) {
  const target = decodeURIComponent(one.getAttribute("href").slice(1)).split("@")[0];
  if (!ids.has(target) && !ids.has(target.replace(/^working-/, "")) && !target.startsWith("way-") && !target.startsWith("place-")) tell("leads nowhere", one);
}
for (const one of document.querySelectorAll("a[href], button, input, select, summary, [role=region], [role=img], [role=group]")) if (!name(one)) tell("no name", one);
for (const one of document.querySelectorAll("svg")) if (!one.closest("[aria-hidden=true]") && !["img", "group"].includes(one.getAttribute("role"))) tell("a drawing without a role", one);
for (const one of document.querySelectorAll("thead th, tbody th")) if (!one.scope) tell("a head without scope", one);
for (const one of document.querySelectorAll("table")) if (!one.closest("dialog") && !one.querySelector("th")) tell("a table without heads", one);
let level = 0;
for (const one of document.querySelectorAll("h1, h2, h3, h4")) {
  if (one.closest("dialog")) continue;
  const next = Number(one.tagName[1]);
  if (next > level + 1) tell("a level left out", one);
  level = next;
}
for (const one of document.querySelectorAll("[tabindex]")) if (Number(one.getAttribute("tabindex")) > 0) tell("an order of its own", one);
// Contrast of words, after the guidelines' own formula.
const light = (colour) => {
  const [r, g, b] = colour.match(/[\d.]+/g).map(Number).map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const behind = (one) => { for (let at = one; at; at = at.parentElement) { const c = getComputedStyle(at).backgroundColor; if (!/, 0\)$/.test(c)) return c; } return "rgb(255, 255, 255)"; };
const told = new Set();
for (const one of document.querySelectorAll("p, li, a:not(svg a), td, th, dt, dd, h1, h2, h3, button, summary, figcaption, span, svg text")) {
  if (!one.textContent.trim() || one.classList.contains("filler") || one.classList.contains("day") || !seen(one)) continue;
  const style = getComputedStyle(one);
  const [a, b] = [light(one.closest("svg") ? style.fill : style.color), light(behind(one))];
  const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  const kind = one.tagName + style.color + style.fill;
  if (ratio < 4.5 && !told.has(kind)) { told.add(kind); tell("contrast " + ratio.toFixed(2), one); }
}
return wrong;
"#;
