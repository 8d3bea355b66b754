//! The document of the JSON, made of the same table as the router: OpenAPI 3.1, whose schemas are JSON Schema 2020-12.
//!
//! Must not know what is answered. Start reading at [`document`].

use axum::http::Method;
use schemars::SchemaGenerator;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

use crate::asked::{Parameter, Takes};
use crate::reply::Reply;
use crate::route::{Form, May, Replying, Route};
use crate::routes::routes;
use crate::visit::Visit;

/// Answers it.
pub fn show(_: Visit) -> Replying {
    Box::pin(async { Reply::json(&document()) })
}

/// The document.
pub fn document() -> Value {
    let mut settings = SchemaSettings::draft2020_12().for_serialize();
    settings.definitions_path = "/components/schemas".into();
    settings.meta_schema = None;
    let mut generator = settings.into_generator();
    let mut paths: Map<String, Value> = Map::new();
    for route in routes().iter().filter(|route| route.form == Form::Json || is_for_programs(route)) {
        let path = paths.entry(route.path).or_insert_with(|| json!({}));
        let method = route.method.as_str().to_ascii_lowercase();
        path[method] = operation(route, &mut generator);
    }
    let mut schemas = generator.take_definitions(true);
    schemas.insert("Problem".to_owned(), problem());
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "everyline, the page as JSON",
            "version": env!("CARGO_PKG_VERSION"),
            "description": "The views of the pages, and what can be done on them. Times are RFC 3339, money is a decimal \
                number with an ISO 4217 code. Names and addresses of customers are not kept.",
            "license": { "name": "MIT", "identifier": "MIT" },
        },
        "servers": [{ "url": "/" }],
        "paths": paths,
        "components": {
            "schemas": schemas,
            "securitySchemes": { "token": {
                "type": "http",
                "scheme": "bearer",
                "description": "A token of the configuration; not needed where no password and no token is set.",
            } },
        },
    })
}

fn is_for_programs(route: &Route) -> bool {
    ["/metrics", "/live", "/ready", "/events"].contains(&route.path)
}

fn operation(route: &Route, generator: &mut SchemaGenerator) -> Value {
    let at = route.places.iter().map(|place| parameter(place, "path"));
    let behind = route.parameters.iter().map(|parameter| self::parameter(parameter, "query"));
    let mut operation = json!({
        "operationId": operation_id(route),
        "summary": route.says,
        "parameters": at.chain(behind).collect::<Vec<_>>(),
        "responses": responses(route, generator),
    });
    if let Some(schema) = route.body {
        let schema = schema(generator);
        operation["requestBody"] =
            json!({ "required": true, "content": { "application/json": { "schema": schema } } });
    }
    operation["security"] = match route.may {
        May::Anybody => json!([]),
        May::Look | May::Act => json!([{ "token": [] }]),
    };
    operation
}

/// `get-api-orders-order_id`.
fn operation_id(route: &Route) -> String {
    let path = route.path.trim_matches('/').replace(['/', '.'], "-").replace(['{', '}'], "");
    format!("{}-{path}", route.method.as_str().to_ascii_lowercase())
}

/// No control characters, in the terms of ECMA-262: JSON Schema 2020-12, section 6.4.
const ON_ONE_LINE: &str = r"^[^\u0000-\u001f\u007f-\u009f]*$";

fn parameter(parameter: &Parameter, place: &str) -> Value {
    let schema = match parameter.takes {
        // The least is what an empty place in a path would be: no place at all.
        Takes::Text(most) if place == "path" => {
            json!({ "type": "string", "minLength": 1, "maxLength": most, "pattern": ON_ONE_LINE })
        }
        Takes::Text(most) => json!({ "type": "string", "maxLength": most, "pattern": ON_ONE_LINE }),
        Takes::Number(least, most) => json!({ "type": "integer", "minimum": least, "maximum": most }),
        // An empty one is as if it were not there.
        Takes::Word(words) => {
            let mut words = words();
            words.push("");
            json!({ "type": "string", "enum": words })
        }
    };
    json!({
        "name": parameter.name,
        "in": place,
        "required": parameter.is_needed || place == "path",
        "description": parameter.says,
        "schema": schema,
    })
}

fn responses(route: &Route, generator: &mut SchemaGenerator) -> Value {
    let mut responses = Map::new();
    match (route.answer, route.form) {
        (Some(schema), _) => {
            let schema = schema(generator);
            let content = json!({ "application/json": { "schema": schema } });
            responses.insert("200".to_owned(), json!({ "description": "The view.", "content": content }));
        }
        (None, Form::Json) if route.method == Method::GET => {
            let content = json!({ "application/json": { "schema": { "type": "object" } } });
            responses.insert("200".to_owned(), json!({ "description": "The document.", "content": content }));
        }
        (None, Form::Json) => {
            responses.insert("204".to_owned(), json!({ "description": "It is done." }));
        }
        _ => {
            responses.insert("200".to_owned(), json!({ "description": "A text." }));
        }
    }
    if route.path == "/ready" {
        responses.insert("503".to_owned(), json!({ "description": "Not ready, and why." }));
    }
    let content =
        json!({ "application/problem+json": { "schema": { "$ref": "#/components/schemas/Problem" } } });
    responses.insert(
        "default".to_owned(),
        json!({ "description": "Why there is no answer, and what to do (RFC 9457).", "content": content }),
    );
    Value::Object(responses)
}

fn problem() -> Value {
    json!({
        "type": "object",
        "required": ["title", "status", "detail", "todo"],
        "properties": {
            "title": { "type": "string", "description": "What kind of trouble it is." },
            "status": { "type": "integer", "description": "The status of the answer." },
            "detail": { "type": "string", "description": "Why, in a sentence." },
            "todo": { "type": "string", "description": "What to do next." },
        },
    })
}
