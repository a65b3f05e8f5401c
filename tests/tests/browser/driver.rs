//! The driver of the browser, and browsers of different sizes.

use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

const PATIENCE: Duration = Duration::from_secs(30);

/// What somebody holds in their hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Device {
    /// A wide window and a mouse.
    Desk,
    /// 360 pixels wide, and fingers.
    Phone,
}

/// The driver as a process of its own.
pub struct Driver {
    process: Child,
    address: String,
}

impl Driver {
    /// Starts it; `None`, with a word on why, where it or the browser is missing.
    pub fn start() -> Option<Self> {
        let (Some(driver), Some(_)) = (found("chromedriver"), found("chromium")) else {
            eprintln!("skipped: chromium and chromedriver are not both installed here");
            return None;
        };
        let mut process = Command::new(driver)
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the driver starts");
        let stdout = process.stdout.take().expect("piped");
        let (found, port) = mpsc::channel();
        // The pipe is read to its end, or a full one would stop the driver.
        std::thread::spawn(move || {
            for line in BufReader::new(stdout).lines().map_while(Result::ok) {
                if let Some((_, port)) = line.rsplit_once("started successfully on port ") {
                    let _ = found.send(port.trim_end_matches('.').to_owned());
                }
            }
        });
        let port = port.recv_timeout(PATIENCE).expect("the driver says where");
        let address = format!("http://127.0.0.1:{port}");
        Some(Self { process, address })
    }

    /// A browser without any past.
    pub async fn browser(&self, device: Device) -> Client {
        let capabilities = options(device);
        let Value::Object(capabilities) = capabilities else {
            unreachable!("an object was written")
        };
        ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities)
            .connect(&self.address)
            .await
            .expect("a browser")
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn options(device: Device) -> Value {
    let mut chromium = json!({
        "binary": found("chromium").expect("looked for at the start"),
        "args": ["--headless=new", "--no-sandbox", "--disable-gpu", "--window-size=1280,900"],
    });
    if device == Device::Phone {
        chromium["mobileEmulation"] = json!({"deviceMetrics": {"width": 360, "height": 740, "pixelRatio": 2.0, "touch": true}});
    }
    json!({"goog:chromeOptions": chromium, "goog:loggingPrefs": {"browser": "ALL"}})
}

/// Where a program is, if it is on the path.
fn found(program: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .map(|folder| folder.join(program))
        .find(|file| file.is_file())
}
