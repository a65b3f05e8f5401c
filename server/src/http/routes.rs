//! Routes and their descriptions, side by side: a route cannot be without its description, nor a
//! description without its route.

use axum::Router;
use axum::handler::Handler;
use axum::routing::{MethodFilter, on};
use schemars::{JsonSchema, Schema, SchemaGenerator};

use super::app::App;

/// Makes the schema of a type.
pub(super) type SchemaOf = fn(&mut SchemaGenerator) -> Schema;

/// Some routes.
#[derive(Default)]
pub(super) struct Routes {
    /// As they are served.
    pub(super) router: Router<App>,
    /// As they are described.
    pub(super) operations: Vec<Operation>,
}

impl Routes {
    /// Adds a route.
    pub(super) fn with<H, T>(mut self, operation: Operation, handler: H) -> Self
    where
        H: Handler<T, App>,
        T: 'static,
    {
        let served = on(operation.method.filter(), handler);
        self.router = self.router.route(operation.path, served);
        self.operations.push(operation);
        self
    }

    /// Adds all of some others.
    pub(super) fn and(mut self, others: Self) -> Self {
        self.router = self.router.merge(others.router);
        self.operations.extend(others.operations);
        self
    }
}

/// A method that a route may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Method {
    /// Also answers `HEAD`.
    Get,
    Post,
    Put,
    Patch,
    Delete,
}

impl Method {
    fn filter(self) -> MethodFilter {
        match self {
            Self::Get => MethodFilter::GET,
            Self::Post => MethodFilter::POST,
            Self::Put => MethodFilter::PUT,
            Self::Patch => MethodFilter::PATCH,
            Self::Delete => MethodFilter::DELETE,
        }
    }

    /// As it travels.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Get => "GET",
            Self::Post => "POST",
            Self::Put => "PUT",
            Self::Patch => "PATCH",
            Self::Delete => "DELETE",
        }
    }
}

/// Whose key a route needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum KeyPolicy {
    /// None.
    NoKey,
    /// None for games that are open to all, else that of one who may read the game.
    ReadersKey,
    /// None, and a member's key counts if there is one.
    MaybeKey,
    /// Always one.
    Key,
    /// None: the cookie of a session.
    Session,
    /// Either.
    SessionOrKey,
}

/// The description of a route.
pub(super) struct Operation {
    pub(super) method: Method,
    pub(super) path: &'static str,
    /// A name for programs.
    pub(super) id: &'static str,
    pub(super) about: &'static str,
    pub(super) key_policy: KeyPolicy,
    /// A type whose members are the query's.
    pub(super) query: Option<SchemaOf>,
    pub(super) headers: Vec<HeaderDoc>,
    pub(super) bodies: Vec<Content>,
    pub(super) answers: Vec<AnswerDoc>,
    /// Changes nothing, and may be cut off when it takes too long.
    pub(super) is_reading: bool,
}

/// The description of a header that a route reads.
pub(super) struct HeaderDoc {
    pub(super) name: &'static str,
    pub(super) about: &'static str,
    pub(super) required: bool,
    /// A regular expression that its value matches.
    pub(super) pattern: &'static str,
}

/// A body: its media type and, for JSON, the type it holds.
#[derive(Clone, Copy)]
pub(super) struct Content {
    pub(super) media_type: &'static str,
    pub(super) schema: Option<SchemaOf>,
}

/// The description of an answer.
pub(super) struct AnswerDoc {
    pub(super) status: u16,
    pub(super) about: &'static str,
    pub(super) contents: Vec<Content>,
}

/// JSON that holds a type.
pub(super) fn json<T: JsonSchema>() -> Content {
    Content {
        media_type: "application/json",
        schema: Some(|generator| generator.subschema_for::<T>()),
    }
}

/// A text of some media type.
pub(super) fn text(media_type: &'static str) -> Content {
    Content {
        media_type,
        schema: None,
    }
}

/// A problem document.
pub(super) fn problem() -> Content {
    Content {
        media_type: "application/problem+json",
        schema: Some(|generator| generator.subschema_for::<fieldpost_wire::Problem>()),
    }
}

impl Operation {
    fn new(method: Method, path: &'static str, id: &'static str, about: &'static str) -> Self {
        Self {
            method,
            path,
            id,
            about,
            key_policy: KeyPolicy::Key,
            query: None,
            headers: Vec::new(),
            bodies: Vec::new(),
            answers: Vec::new(),
            is_reading: method == Method::Get,
        }
    }

    pub(super) fn get(path: &'static str, id: &'static str, about: &'static str) -> Self {
        Self::new(Method::Get, path, id, about)
    }

    pub(super) fn post(path: &'static str, id: &'static str, about: &'static str) -> Self {
        Self::new(Method::Post, path, id, about)
    }

    pub(super) fn put(path: &'static str, id: &'static str, about: &'static str) -> Self {
        Self::new(Method::Put, path, id, about)
    }

    pub(super) fn patch(path: &'static str, id: &'static str, about: &'static str) -> Self {
        Self::new(Method::Patch, path, id, about)
    }

    pub(super) fn delete(path: &'static str, id: &'static str, about: &'static str) -> Self {
        Self::new(Method::Delete, path, id, about)
    }

    pub(super) fn key_policy(self, key_policy: KeyPolicy) -> Self {
        Self { key_policy, ..self }
    }

    pub(super) fn query<T: JsonSchema>(self) -> Self {
        Self {
            query: Some(|generator| T::json_schema(generator)),
            ..self
        }
    }

    pub(super) fn header(mut self, header: HeaderDoc) -> Self {
        self.headers.push(header);
        self
    }

    pub(super) fn takes(mut self, body: Content) -> Self {
        self.bodies.push(body);
        self
    }

    pub(super) fn answers(
        mut self,
        status: u16,
        about: &'static str,
        contents: &[Content],
    ) -> Self {
        self.answers.push(AnswerDoc {
            status,
            about,
            contents: contents.to_vec(),
        });
        self
    }

    /// It changes nothing, whatever its method.
    pub(super) fn reading(self) -> Self {
        Self {
            is_reading: true,
            ..self
        }
    }
}

/// `If-Match` with a game's head.
pub(super) const IF_MATCH: HeaderDoc = HeaderDoc {
    name: "If-Match",
    about: "The ETag of the game or table that the sheet was written for.",
    required: true,
    pattern: "^\"[0-9a-fA-F]{64}\"$",
};

/// `Idempotency-Key` where it must be there.
pub(super) const IDEMPOTENCY_KEY: HeaderDoc = HeaderDoc {
    name: "Idempotency-Key",
    about: "New for every request, the same when the same request is sent again because its answer was lost.",
    required: true,
    pattern: "^[!-~]{1,200}$",
};

/// `If-None-Match` with a game's head.
pub(super) const IF_NONE_MATCH: HeaderDoc = HeaderDoc {
    name: "If-None-Match",
    about: "The ETag of the table that the caller has: 304 if it is still the same.",
    required: false,
    pattern: "^[!-~]+$",
};
