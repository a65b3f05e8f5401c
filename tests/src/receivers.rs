//! Where notices arrive in tests: a mail server and a webhook's receiver, both on a free port of this machine.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

const PATIENCE: Duration = Duration::from_secs(30);

/// What arrived so far, awaited.
#[derive(Debug)]
pub struct Arrivals<T>(Arc<(Mutex<Vec<T>>, Condvar)>);

impl<T> Clone for Arrivals<T> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

impl<T> Default for Arrivals<T> {
    fn default() -> Self {
        Self(Arc::new((Mutex::new(Vec::new()), Condvar::new())))
    }
}

impl<T: Clone> Arrivals<T> {
    fn add(&self, arrival: T) {
        self.0.0.lock().expect("no panic while held").push(arrival);
        self.0.1.notify_all();
    }

    /// What has arrived.
    ///
    /// # Panics
    /// Never, in practice.
    #[must_use]
    pub fn now(&self) -> Vec<T> {
        self.0.0.lock().expect("no panic while held").clone()
    }

    /// Everything, once so many have arrived.
    ///
    /// # Panics
    /// When they do not.
    pub fn wait_for(&self, count: usize) -> Vec<T> {
        let until = Instant::now() + PATIENCE;
        let (arrived, bell) = &*self.0;
        let mut arrived = arrived.lock().expect("no panic while held");
        while arrived.len() < count {
            let left = until.saturating_duration_since(Instant::now());
            assert!(!left.is_zero(), "{} of {count} arrived", arrived.len());
            arrived = bell
                .wait_timeout(arrived, left)
                .expect("no panic while held")
                .0;
        }
        arrived.clone()
    }
}

/// A mail as it arrived.
#[derive(Debug, Clone)]
pub struct Mail {
    /// From whom, as its envelope says.
    pub from: String,
    /// To whom, as its envelope says.
    pub to: Vec<String>,
    /// Head and body, as they came.
    pub text: String,
}

/// A mail server that speaks as much SMTP (RFC 5321) as is needed to take mails.
#[derive(Debug)]
pub struct MailServer {
    /// Where it listens.
    pub address: SocketAddr,
    /// What it took.
    pub mails: Arrivals<Mail>,
}

impl MailServer {
    /// Starts one that answers each recipient as told; "" means that it takes them.
    ///
    /// # Panics
    /// When this machine has no free port.
    #[must_use]
    pub fn start(recipient: fn(&str) -> &'static str) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let address = listener.local_addr().expect("an address");
        let mails = Arrivals::default();
        let arrivals = mails.clone();
        std::thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let arrivals = arrivals.clone();
                std::thread::spawn(move || {
                    // Whoever hangs up has no more to say.
                    let _ = converse(&stream, &arrivals, recipient);
                });
            }
        });
        Self { address, mails }
    }
}

fn converse(
    stream: &TcpStream,
    mails: &Arrivals<Mail>,
    recipient: fn(&str) -> &'static str,
) -> io::Result<()> {
    let mut lines = BufReader::new(stream);
    let say =
        |text: &str| -> io::Result<()> { (&*stream).write_all(format!("{text}\r\n").as_bytes()) };
    say("220 mail.example ready")?;
    let mut mail = Mail {
        from: String::new(),
        to: Vec::new(),
        text: String::new(),
    };
    loop {
        let mut line = String::new();
        if lines.read_line(&mut line)? == 0 {
            return Ok(());
        }
        let line = line.trim_end();
        let (verb, rest) = line.split_at(line.len().min(4));
        match verb.to_ascii_uppercase().as_str() {
            "EHLO" | "HELO" => say("250-mail.example\r\n250 8BITMIME")?,
            "MAIL" => {
                mail = Mail {
                    from: path(rest),
                    to: Vec::new(),
                    text: String::new(),
                };
                say("250 go on")?;
            }
            "RCPT" => match recipient(&path(rest)) {
                "" => {
                    mail.to.push(path(rest));
                    say("250 go on")?;
                }
                no => say(no)?,
            },
            "DATA" => {
                say("354 go on, and end with a point")?;
                mail.text = data(&mut lines)?;
                mails.add(mail.clone());
                say("250 taken")?;
            }
            "QUIT" => return say("221 good bye"),
            "RSET" | "NOOP" => say("250 go on")?,
            _ => say("500 what?")?,
        }
    }
}

/// What stands between `<` and `>`.
fn path(rest: &str) -> String {
    let after = rest.split_once('<').map_or("", |(_, after)| after);
    after.split('>').next().unwrap_or_default().to_owned()
}

fn data(lines: &mut impl BufRead) -> io::Result<String> {
    let mut text = String::new();
    loop {
        let mut line = String::new();
        if lines.read_line(&mut line)? == 0 || line == ".\r\n" {
            return Ok(text);
        }
        // A point that begins a line was doubled for the journey.
        text.push_str(line.strip_prefix('.').unwrap_or(&line));
    }
}

/// A request as it arrived.
#[derive(Debug, Clone)]
pub struct Hook {
    /// Its path.
    pub path: String,
    /// Its headers, names in small letters.
    pub headers: Vec<(String, String)>,
    /// Its body.
    pub body: Vec<u8>,
}

impl Hook {
    /// A header's value; empty when it is not there.
    #[must_use]
    pub fn header(&self, name: &str) -> &str {
        let found = self.headers.iter().find(|(header, _)| header == name);
        found.map_or("", |(_, value)| value)
    }
}

/// A webhook's receiver.
#[derive(Debug)]
pub struct HookServer {
    /// Where it listens.
    pub address: SocketAddr,
    /// What it was sent.
    pub hooks: Arrivals<Hook>,
}

impl HookServer {
    /// Starts one that answers each request as told, counted from 0: a status line's rest and headers, such as `204 No Content`.
    ///
    /// # Panics
    /// When this machine has no free port.
    #[must_use]
    pub fn start(answer: impl Fn(usize, &Hook) -> String + Send + 'static) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let address = listener.local_addr().expect("an address");
        let hooks = Arrivals::default();
        let arrivals = hooks.clone();
        std::thread::spawn(move || {
            for (count, stream) in listener.incoming().map_while(Result::ok).enumerate() {
                // Whoever hangs up has no more to say.
                let _ = answered(&stream, &arrivals, |hook| answer(count, hook));
            }
        });
        Self { address, hooks }
    }
}

fn answered(
    stream: &TcpStream,
    hooks: &Arrivals<Hook>,
    answer: impl Fn(&Hook) -> String,
) -> io::Result<()> {
    let mut lines = BufReader::new(stream);
    let mut line = || -> io::Result<String> {
        let mut line = String::new();
        lines.read_line(&mut line)?;
        Ok(line.trim_end().to_owned())
    };
    let request = line()?;
    let path = request.split(' ').nth(1).unwrap_or_default().to_owned();
    let mut headers = Vec::new();
    loop {
        let line = line()?;
        let Some((name, value)) = line.split_once(':') else {
            break;
        };
        headers.push((name.to_ascii_lowercase(), value.trim().to_owned()));
    }
    let mut hook = Hook {
        path,
        headers,
        body: Vec::new(),
    };
    let length: u64 = hook.header("content-length").parse().unwrap_or(0);
    lines.take(length).read_to_end(&mut hook.body)?;
    let answer = answer(&hook);
    hooks.add(hook);
    (&*stream).write_all(
        format!("HTTP/1.1 {answer}\r\ncontent-length: 0\r\nconnection: close\r\n\r\n").as_bytes(),
    )
}
