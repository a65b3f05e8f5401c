//! Notifies the supervisor, where it asks for that (systemd's `Type=notify`), that the server is ready or stopping: so a
//! start that fails is a command that fails.

use tracing::warn;

/// It serves.
pub(crate) const READY: &str = "READY=1";
/// It was told to stop, and lets open requests end.
pub(crate) const STOPPING: &str = "STOPPING=1";

/// Sends a state to the socket that the environment names, if it names one.
#[cfg(unix)]
pub(crate) fn notify(state: &str) {
    let Some(socket) = std::env::var_os("NOTIFY_SOCKET") else {
        return;
    };
    if let Err(error) = send(&socket, state) {
        warn!(%error, state, ?socket, "the supervisor could not be notified");
    }
}

#[cfg(not(unix))]
pub(crate) fn notify(_: &str) {}

#[cfg(unix)]
fn send(socket: &std::ffi::OsStr, state: &str) -> std::io::Result<()> {
    use std::os::unix::net::UnixDatagram;
    let sender = UnixDatagram::unbound()?;
    // A name that begins so is in no folder, which only Linux knows.
    #[cfg(target_os = "linux")]
    if let Some(name) = std::os::unix::ffi::OsStrExt::as_bytes(socket).strip_prefix(b"@") {
        use std::os::linux::net::SocketAddrExt;
        let address = std::os::unix::net::SocketAddr::from_abstract_name(name)?;
        sender.send_to_addr(state.as_bytes(), &address)?;
        return Ok(());
    }
    sender.send_to(state.as_bytes(), socket)?;
    Ok(())
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::os::unix::net::UnixDatagram;
    use std::time::Duration;

    fn received(receiver: &UnixDatagram) -> String {
        receiver
            .set_read_timeout(Some(Duration::from_secs(5)))
            .expect("a limit");
        let mut bytes = [0; 64];
        let length = receiver.recv(&mut bytes).expect("notified");
        String::from_utf8_lossy(&bytes[..length]).into_owned()
    }

    #[test]
    fn a_socket_in_a_folder_is_told() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("notify");
        let receiver = UnixDatagram::bind(&path).expect("bound");
        send(path.as_os_str(), READY).expect("sent");
        assert_eq!(received(&receiver), "READY=1");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_socket_in_no_folder_is_told() {
        use std::os::linux::net::SocketAddrExt;
        use std::os::unix::net::SocketAddr;
        let name = format!("fieldpost-{}", std::process::id());
        let address = SocketAddr::from_abstract_name(&name).expect("a name");
        let receiver = UnixDatagram::bind_addr(&address).expect("bound");
        send(format!("@{name}").as_ref(), STOPPING).expect("sent");
        assert_eq!(received(&receiver), "STOPPING=1");
    }
}
