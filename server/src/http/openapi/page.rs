//! The description as one page of HTML that needs nothing else.

use std::fmt::Write;

use serde_json::Value;

use crate::html::escaped;

const STYLE: &str = "body{font-family:sans-serif;line-height:1.45;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#222;background:#fff}\
h2{border-top:1px solid #bbb;padding-top:1rem}h3{font-family:monospace;font-size:1.05rem;margin:1.6rem 0 .3rem}\
table{border-collapse:collapse;margin:.5rem 0}td,th{border:1px solid #ccc;padding:.2rem .6rem;text-align:left;vertical-align:top}\
pre{background:#f4f4f4;padding:.6rem;overflow:auto}";

/// The page.
pub(super) fn page(document: &Value) -> String {
    let mut page = String::new();
    let title = escaped(word(&document["info"]["title"]));
    let _ = write!(
        page,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>{title}: the routes</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<h1>{title} {}</h1>\n<p>{}</p>\n<h2>Routes</h2>\n",
        escaped(word(&document["info"]["version"])),
        escaped(word(&document["info"]["description"])),
    );
    for (path, operations) in members(&document["paths"]) {
        for (method, operation) in members(operations) {
            write_operation(&mut page, &method.to_ascii_uppercase(), path, operation);
        }
    }
    page.push_str("<h2>Types</h2>\n");
    for (name, schema) in members(&document["components"]["schemas"]) {
        let name = escaped(name);
        let _ = write!(
            page,
            "<h3 id=\"{name}\">{name}</h3>\n<p>{}</p>\n<pre>{}</pre>\n",
            escaped(word(&schema["description"])),
            escaped(&format!("{schema:#}")),
        );
    }
    page.push_str("</body>\n</html>\n");
    page
}

fn write_operation(page: &mut String, method: &str, path: &str, operation: &Value) {
    let _ = write!(
        page,
        "<h3>{method} {}</h3>\n<p>{} <em>{}</em></p>\n",
        escaped(path),
        escaped(word(&operation["summary"])),
        key_words(&operation["security"]),
    );
    let parameters = operation["parameters"].as_array();
    if let Some(parameters) = parameters {
        page.push_str(
            "<table>\n<tr><th>parameter</th><th>in</th><th>needed</th><th>what</th></tr>\n",
        );
        for parameter in parameters {
            let needed = if parameter["required"] == true {
                "yes"
            } else {
                ""
            };
            let _ = writeln!(
                page,
                "<tr><td>{}</td><td>{}</td><td>{needed}</td><td>{} <code>{}</code></td></tr>",
                escaped(word(&parameter["name"])),
                escaped(word(&parameter["in"])),
                escaped(word(&parameter["description"])),
                escaped(&parameter["schema"].to_string()),
            );
        }
        page.push_str("</table>\n");
    }
    page.push_str("<table>\n<tr><th></th><th>what</th><th>as</th></tr>\n");
    if !operation["requestBody"].is_null() {
        let body = contents(&operation["requestBody"]["content"]);
        let _ = writeln!(page, "<tr><td>body</td><td></td><td>{body}</td></tr>");
    }
    for (status, answer) in members(&operation["responses"]) {
        let _ = writeln!(
            page,
            "<tr><td>{}</td><td>{}</td><td>{}</td></tr>",
            escaped(status),
            escaped(word(&answer["description"])),
            contents(&answer["content"]),
        );
    }
    page.push_str("</table>\n");
}

/// Which key is asked for, in words.
fn key_words(security: &Value) -> &'static str {
    match security.as_array().map(Vec::len) {
        Some(0) | None => "No key is needed.",
        Some(_) if security.to_string().contains("session") => "Needs a session.",
        Some(1) => "Needs a key.",
        Some(_) => "A key may be needed, or open more.",
    }
}

/// Media types and the types they hold, each with a link to it.
fn contents(content: &Value) -> String {
    let listed = members(content).map(|(media_type, held)| {
        let schema = &held["schema"];
        match word(&schema["$ref"]).rsplit_once('/') {
            Some((_, name)) => {
                let name = escaped(name);
                format!("{}: <a href=\"#{name}\">{name}</a>", escaped(media_type))
            }
            None => escaped(media_type),
        }
    });
    listed.collect::<Vec<_>>().join("<br>")
}

fn members(value: &Value) -> impl Iterator<Item = (&String, &Value)> {
    value.as_object().into_iter().flatten()
}

fn word(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}
