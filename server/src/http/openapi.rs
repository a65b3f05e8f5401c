//! The description of every route: as OpenAPI 3.1 for programs, as one page for people. Both are made
//! from the routes themselves and the types that travel.

mod page;

use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use schemars::generate::SchemaSettings;
use schemars::{Schema, SchemaGenerator};
use serde_json::{Map, Value, json};

use super::app::App;
use super::description::Description;
use super::routes::{Content, KeyPolicy, Operation, Routes, text};

/// The text of the description about itself.
const ABOUT: &str = "The Fieldpost server: games over HTTP, kept as an append-only record. Every error is a problem document \
(RFC 9457); more than a minute's worth of requests is answered 429. API.md beside the server's source describes the whole in prose.";

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::get(
                "/openapi.json",
                "describe",
                "This description, as OpenAPI 3.1.",
            )
            .key_policy(KeyPolicy::NoKey)
            .answers(200, "The description", &[text("application/json")]),
            json_document,
        )
        .with(
            Operation::get(
                "/openapi.html",
                "describe_as_page",
                "This description as one page that needs nothing else.",
            )
            .key_policy(KeyPolicy::NoKey)
            .answers(200, "The page", &[text("text/html")]),
            html_page,
        )
}

async fn json_document(State(app): State<App>) -> impl IntoResponse {
    let json = [(header::CONTENT_TYPE, "application/json")];
    (json, app.description.json.to_string())
}

async fn html_page(State(app): State<App>) -> impl IntoResponse {
    let html = [(header::CONTENT_TYPE, "text/html; charset=utf-8")];
    (html, app.description.page.to_string())
}

impl Description {
    /// The description of these routes.
    pub(super) fn of(operations: &[Operation]) -> Self {
        let document = document(operations);
        Self {
            json: format!("{document:#}\n").into(),
            page: page::page(&document).into(),
        }
    }
}

/// The description as OpenAPI 3.1.
pub(super) fn document(operations: &[Operation]) -> Value {
    let mut generator = SchemaSettings::draft2020_12()
        .with(|settings| settings.definitions_path = "/components/schemas".into())
        .into_generator();
    let mut paths = Map::new();
    for operation in operations {
        let description = describe(operation, &mut generator);
        let path = paths
            .entry(operation.path.replace("{*", "{"))
            .or_insert_with(|| Value::Object(Map::new()));
        path[operation.method.word().to_ascii_lowercase()] = description;
    }
    let mut schemas = generator.take_definitions(true);
    schemas.sort_keys();
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "Fieldpost",
            "version": env!("CARGO_PKG_VERSION"),
            "description": ABOUT,
            "license": {"name": "MIT or Apache 2.0", "identifier": env!("CARGO_PKG_LICENSE")},
        },
        "servers": [{"url": "/"}],
        "paths": paths,
        "components": {
            "schemas": schemas,
            "securitySchemes": {
                "key": {"type": "http", "scheme": "bearer", "description": "A key, id.secret: of a seat, of a member or the organiser's."},
                "session": {"type": "apiKey", "in": "cookie", "name": "__Host-fieldpost", "description": "The session of a browser; without TLS its name is fieldpost. Other routes take it with Fieldpost-Key, the id of one of its keys."},
            },
        },
    })
}

fn describe(operation: &Operation, generator: &mut SchemaGenerator) -> Value {
    let mut description = json!({
        "operationId": operation.id,
        "summary": operation.about,
        "security": match operation.key_policy {
            KeyPolicy::NoKey => json!([]),
            KeyPolicy::ReadersKey | KeyPolicy::MaybeKey => json!([{}, {"key": []}]),
            KeyPolicy::Key => json!([{"key": []}]),
            KeyPolicy::Session => json!([{"session": []}]),
            KeyPolicy::SessionOrKey => json!([{"session": []}, {"key": []}]),
        },
    });
    let parameters = parameters(operation, generator);
    if !parameters.is_empty() {
        description["parameters"] = parameters.into();
    }
    if !operation.bodies.is_empty() {
        description["requestBody"] =
            json!({"required": true, "content": contents(&operation.bodies, generator)});
    }
    let mut answers = Map::new();
    for answer in &operation.answers {
        let mut documented = json!({"description": answer.about});
        if !answer.contents.is_empty() {
            documented["content"] = contents(&answer.contents, generator);
        }
        answers.insert(answer.status.to_string(), documented);
    }
    let problem = contents(&[super::routes::problem()], generator);
    answers.insert(
        "default".to_owned(),
        json!({"description": "A problem", "content": problem}),
    );
    description["responses"] = answers.into();
    description
}

fn parameters(operation: &Operation, generator: &mut SchemaGenerator) -> Vec<Value> {
    let in_path = operation
        .path
        .split('/')
        .filter_map(|part| part.strip_prefix('{')?.strip_suffix('}'))
        .map(|name| name.trim_start_matches('*'))
        .map(|name| json!({"name": name, "in": "path", "required": true, "schema": in_path(name)}));
    let mut parameters: Vec<Value> = in_path.collect();
    if let Some(query) = operation.query {
        parameters.extend(in_query(&query(generator)));
    }
    parameters.extend(operation.headers.iter().map(|header| {
        json!({"name": header.name, "in": "header", "required": header.required, "description": header.about,
            "schema": {"type": "string", "pattern": header.pattern}})
    }));
    parameters
}

/// What stands in a path under that name.
fn in_path(name: &str) -> Value {
    match name {
        "game" => json!({"type": "string", "pattern": "^[0-9a-f]{32}$"}),
        "number" => json!({"type": "integer", "minimum": 1}),
        "member" | "seat" | "key" | "session" | "hash" => {
            json!({"type": "string", "pattern": "^[0-9a-f]{16}$"})
        }
        _ => json!({"type": "string"}),
    }
}

/// The members of a type as parts of a query.
fn in_query(schema: &Schema) -> Vec<Value> {
    let required: Vec<&str> = schema
        .get("required")
        .and_then(Value::as_array)
        .map(|names| names.iter().filter_map(Value::as_str).collect())
        .unwrap_or_default();
    let members = schema.get("properties").and_then(Value::as_object);
    let parameters = members.into_iter().flatten().map(|(name, member)| {
        let mut member = member.clone();
        let about = member["description"].take();
        if let Some(object) = member.as_object_mut() {
            object.remove("description");
            // A part of a query is there or is not; it is never null.
            if let Some(kinds) = object.get_mut("type").and_then(Value::as_array_mut) {
                kinds.retain(|kind| kind != "null");
            }
        }
        json!({"name": name, "in": "query", "required": required.contains(&name.as_str()),
            "description": about.as_str().unwrap_or_default(), "schema": member})
    });
    parameters.collect()
}

fn contents(contents: &[Content], generator: &mut SchemaGenerator) -> Value {
    let mut described = Map::new();
    for content in contents {
        let schema = match content.schema {
            Some(schema) => schema(generator).to_value(),
            None if content.media_type == "application/json" => json!({"type": "object"}),
            None => json!({"type": "string"}),
        };
        described.insert(content.media_type.to_owned(), json!({"schema": schema}));
    }
    described.into()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use crate::http::router::{document, page, routes};

    fn described() -> BTreeSet<(String, String)> {
        let document = document();
        let paths = document["paths"].as_object().expect("paths");
        let operations = paths.iter().flat_map(|(path, operations)| {
            let methods = operations.as_object().expect("operations").keys();
            methods.map(|method| (method.to_ascii_uppercase(), path.clone()))
        });
        operations.collect()
    }

    /// The rows of the table of routes: `| `GET /path?query` | …`.
    fn written() -> BTreeSet<(String, String)> {
        let text = include_str!("../../API.md");
        let rows = text.lines().filter_map(|line| {
            let route = line.strip_prefix("| `")?.split('`').next()?;
            let (method, path) = route.split_once(' ')?;
            let path = path.split('?').next()?;
            path.starts_with('/')
                .then(|| (method.to_owned(), path.to_owned()))
        });
        rows.collect()
    }

    #[test]
    fn the_prose_lists_every_route_and_no_other() {
        assert_eq!(described(), written());
    }

    #[test]
    fn every_reference_leads_somewhere_and_every_id_is_one() {
        let document = document();
        let text = document.to_string();
        let references = text.split("\"$ref\":\"#").skip(1);
        for reference in references.filter_map(|rest| rest.split('"').next()) {
            assert!(document.pointer(reference).is_some(), "{reference}");
        }
        let mut ids = BTreeSet::new();
        for operation in routes().operations {
            assert!(ids.insert(operation.id), "{}", operation.id);
        }
    }

    #[test]
    fn the_page_tells_every_operation_and_fetches_nothing() {
        let page = page();
        for (method, path) in described() {
            assert!(
                page.contains(&format!("{method} {path}")),
                "{method} {path}"
            );
        }
        for what in ["src=", "href=\"http", "@import", "url(", "<script"] {
            assert!(!page.contains(what), "{what}");
        }
    }
}
