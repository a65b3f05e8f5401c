//! A PostgreSQL server in a temporary folder that ends with the process that started it.

use std::fs;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

/// How long it may take to answer.
const PATIENCE: Duration = Duration::from_secs(60);

/// Lives in a shell that waits for its standard input to end: that happens when the test program is
/// gone, however it ended. The shell then stops the server and removes the folder.
const KEEPER: &str = r#"
"$1/postgres" -D "$2/data" >"$2/log" 2>&1 &
server=$!
read -r _
kill -INT $server
wait $server
rm -rf "$2"
"#;

const SETTINGS: &str = "
listen_addresses = '127.0.0.1'
unix_socket_directories = ''
max_connections = 200
shared_buffers = 32MB
";

pub(super) struct Cluster {
    port: u16,
}

impl Cluster {
    /// Starts one, or says why there is none.
    pub(super) fn start() -> Result<Self, String> {
        let programs = programs().ok_or("the programs of a PostgreSQL server were not found")?;
        // Stays when this process ends; the keeper removes it.
        let folder = tempfile::Builder::new()
            .prefix("fieldpost-postgres-")
            .tempdir()
            .map_err(|error| error.to_string())?
            .keep();
        let owner = Owner::of(&folder)?;
        let data = folder.join("data");
        let made = owner
            .run(&programs.join("initdb"))
            .args([
                "--auth=trust",
                "--username=postgres",
                "--encoding=UTF8",
                "--no-locale",
                "-D",
            ])
            .arg(&data)
            .current_dir(&folder)
            .output()
            .map_err(|error| error.to_string())?;
        succeeded(&made)?;
        let port = free_port()?;
        let settings = format!("{SETTINGS}\nport = {port}\n");
        append(&data.join("postgresql.conf"), &settings)?;
        let keeper = owner
            .run(Path::new("sh"))
            .args(["-c", KEEPER, "keeper"])
            .args([&programs, &folder])
            .current_dir(&folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| error.to_string())?;
        // Its standard input stays open for as long as this process lives.
        std::mem::forget(keeper);
        let cluster = Self { port };
        cluster.await_answer(&folder.join("log"))?;
        Ok(cluster)
    }

    pub(super) fn url(&self) -> String {
        format!("postgres://postgres@127.0.0.1:{}/postgres", self.port)
    }

    fn await_answer(&self, log: &Path) -> Result<(), String> {
        let began = Instant::now();
        while let Err(error) = super::said(&self.url(), "SELECT 'up'") {
            if began.elapsed() > PATIENCE {
                let log = fs::read_to_string(log).unwrap_or_default();
                return Err(format!(
                    "a PostgreSQL server does not answer: {error}\n{log}"
                ));
            }
            std::thread::sleep(Duration::from_millis(100));
        }
        Ok(())
    }
}

/// The folder with `postgres` and `initdb`: on the path, or where distributions put them.
fn programs() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let mut usual: Vec<PathBuf> = fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .filter_map(|version| Some(version.ok()?.path().join("bin")))
        .collect();
    usual.sort();
    std::env::split_paths(&path)
        .chain(usual.into_iter().rev())
        .find(|folder| {
            ["postgres", "initdb"]
                .iter()
                .all(|program| folder.join(program).is_file())
        })
}

/// Whom the server runs as: PostgreSQL refuses to run as root.
struct Owner(Option<(u32, u32)>);

impl Owner {
    #[cfg(unix)]
    fn of(folder: &Path) -> Result<Self, String> {
        use std::os::unix::fs::{MetadataExt, chown};
        let uid = fs::metadata(folder)
            .map_err(|error| error.to_string())?
            .uid();
        if uid != 0 {
            return Ok(Self(None));
        }
        let known = fs::read_to_string("/etc/passwd").unwrap_or_default();
        let of = |name: &str| {
            let line = known
                .lines()
                .find(|line| line.split(':').next() == Some(name))?;
            let mut fields = line.split(':').skip(2);
            Some((fields.next()?.parse().ok()?, fields.next()?.parse().ok()?))
        };
        let (uid, gid) = of("postgres").or_else(|| of("nobody")).ok_or(
            "PostgreSQL does not run as root, and there is no user \"postgres\" or \"nobody\"",
        )?;
        chown(folder, Some(uid), Some(gid)).map_err(|error| error.to_string())?;
        Ok(Self(Some((uid, gid))))
    }

    #[cfg(not(unix))]
    fn of(_: &Path) -> Result<Self, String> {
        Ok(Self(None))
    }

    fn run(&self, program: &Path) -> Command {
        let mut command = Command::new(program);
        #[cfg(unix)]
        if let Some((uid, gid)) = self.0 {
            use std::os::unix::process::CommandExt;
            command.uid(uid).gid(gid);
        }
        for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("PG")) {
            command.env_remove(name);
        }
        command.env("LC_ALL", "C");
        command
    }
}

fn succeeded(output: &Output) -> Result<(), String> {
    if output.status.success() {
        return Ok(());
    }
    Err(format!(
        "initdb: {}",
        String::from_utf8_lossy(&output.stderr)
    ))
}

fn free_port() -> Result<u16, String> {
    let listener = TcpListener::bind("127.0.0.1:0").map_err(|error| error.to_string())?;
    let address = listener.local_addr().map_err(|error| error.to_string())?;
    Ok(address.port())
}

fn append(path: &Path, text: &str) -> Result<(), String> {
    let mut whole = fs::read_to_string(path).map_err(|error| error.to_string())?;
    whole.push_str(text);
    fs::write(path, whole).map_err(|error| error.to_string())
}
