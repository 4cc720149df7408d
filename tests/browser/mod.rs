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

    /// A window as wide and high; colours as asked for.
    pub fn dress(&self, width: u32, height: u32, scheme: &str, motion: &str) {
        let cdp = |cmd: &str, params: Value| self.ask("/goog/cdp/execute", &json!({"cmd": cmd, "params": params}));
        cdp(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false}),
        );
        let features = json!([
            {"name": "prefers-color-scheme", "value": scheme}, {"name": "prefers-reduced-motion", "value": motion}
        ]);
        cdp("Emulation.setEmulatedMedia", json!({"features": features}));
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
