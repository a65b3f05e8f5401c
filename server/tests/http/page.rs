//! The page: the same for everybody, from this server alone, framed by nobody.

use crate::host::Host;

#[test]
fn the_shell_is_the_same_for_everybody_and_is_asked_for_anew() {
    let host = Host::start();
    let battle = host.battle();
    let first = host.get("/");
    assert_eq!(first.status, 200, "{first:?}");
    assert_eq!(first.header("content-type"), "text/html; charset=utf-8");
    assert_eq!(first.header("cache-control"), "no-cache");
    let of_player = host
        .ask("GET", "/")
        .key(&battle.red)
        .header("cookie", "fieldpost=x");
    assert_eq!(of_player.send().text, first.text);
    let known = host
        .ask("GET", "/")
        .header("if-none-match", first.header("etag"));
    assert_eq!(known.send().status, 304);
    let none = host.get("/assets/0123456789abcdef/index.html");
    none.problem(404, "no-such-file");
    for name in ["..%2f..%2fCargo.toml", "/etc/hosts", "%2e%2e/index.html"] {
        let file = host.get(&format!("/assets/0123456789abcdef/{name}"));
        file.problem(404, "no-such-file");
    }
}

#[test]
fn nobody_frames_it_and_nothing_comes_from_elsewhere() {
    let host = Host::start();
    let page = host.get("/");
    let policy = page.header("content-security-policy");
    for part in [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "connect-src 'self'",
        "form-action 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ] {
        assert!(policy.contains(part), "{policy}");
    }
    assert!(
        !policy.contains("unsafe") && !policy.contains("http"),
        "{policy}"
    );
    assert_eq!(page.header("referrer-policy"), "no-referrer");
    assert_eq!(page.header("x-content-type-options"), "nosniff");
    assert_eq!(page.header("cross-origin-opener-policy"), "same-origin");
    assert_eq!(page.header("cross-origin-resource-policy"), "same-origin");
    // Nor anything else here.
    let table = host.battle().path("table.svg");
    assert!(
        host.get(&table)
            .header("content-security-policy")
            .contains("frame-ancestors 'none'")
    );
}

/// Whatever the page begins with is kept for ever under a name that goes with its content.
#[test]
fn its_files_are_kept_for_ever() {
    let host = Host::start();
    let page = host.get("/").text;
    for reference in page.split("\"/assets/").skip(1) {
        let name = reference.split('"').next().expect("closed");
        let file = host.get(&format!("/assets/{name}"));
        assert_eq!(file.status, 200, "{name}");
        assert_eq!(
            file.header("cache-control"),
            "public, max-age=31536000, immutable"
        );
        assert!(
            file.header("content-security-policy")
                .contains("frame-ancestors 'none'")
        );
    }
}
