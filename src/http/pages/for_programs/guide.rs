//! The API's document, read for people: its operations by group, with the shapes each group uses.

use std::collections::BTreeSet;
use std::sync::OnceLock;

use serde_json::{Map, Value};

use crate::domain::person::Role;
use crate::http::api;

/// Operations that belong together, and every shape they take or answer.
pub struct Group {
    pub name: String,
    pub address: String,
    pub operations: Vec<Operation>,
    pub shapes: Vec<Shape>,
}

pub struct Operation {
    pub id: String,
    pub summary: String,
    /// Only of what is going out.
    pub going_out: String,
    pub method: String,
    pub path: String,
    pub roles: &'static [Role],
    pub parameters: Vec<Parameter>,
    pub takes: Option<Takes>,
    /// Those that are no problem.
    pub answers: Vec<Answer>,
    pub problems: Vec<Problem>,
}

pub struct Parameter {
    pub name: String,
    pub place: String,
    pub required: bool,
    pub about: String,
}

pub struct Takes {
    pub media: String,
    /// Empty for what is no JSON.
    pub shape: String,
    pub example: String,
}

pub struct Answer {
    pub status: String,
    pub about: String,
    pub media: String,
    pub shape: String,
    pub example: String,
}

/// One that says more of this operation than its status does.
pub struct Problem {
    pub status: String,
    pub about: String,
}

pub struct Shape {
    pub name: String,
    pub about: String,
    pub members: Vec<Member>,
}

pub struct Member {
    pub name: String,
    pub kind: Kind,
    pub required: bool,
    pub about: String,
}

#[derive(Clone, Default)]
pub struct Kind {
    pub list: bool,
    pub or_null: bool,
    pub one: String,
    /// Whether `one` is a shape of the same page.
    pub is_shape: bool,
    pub words: Vec<String>,
}

/// Read once: the document never changes while a server runs.
pub fn guide() -> &'static [Group] {
    static GUIDE: OnceLock<Vec<Group>> = OnceLock::new();
    GUIDE.get_or_init(|| read(&serde_json::to_value(api::openapi()).unwrap_or_default()))
}

fn read(document: &Value) -> Vec<Group> {
    let schemas = &document["components"]["schemas"];
    let mut groups: Vec<Group> = Vec::new();
    for (path, item) in document["paths"].as_object().into_iter().flatten() {
        for (method, o) in item.as_object().into_iter().flatten().filter(|(m, _)| *m != "parameters") {
            let name = o["tags"][0].as_str().unwrap_or_default();
            let at = groups.iter().position(|g| g.name == name).unwrap_or_else(|| {
                groups.push(Group {
                    name: name.to_owned(),
                    address: name.replace(' ', "-"),
                    operations: Vec::new(),
                    shapes: Vec::new(),
                });
                groups.len() - 1
            });
            groups[at].operations.push(operation(method, path, o));
        }
    }
    for group in &mut groups {
        let mut used = BTreeSet::new();
        for o in &group.operations {
            let shapes = o.takes.iter().map(|t| &t.shape).chain(o.answers.iter().map(|a| &a.shape));
            shapes.for_each(|s| gather(s, schemas, &mut used));
        }
        group.shapes = used.iter().map(|name| shape(name, &schemas[name], schemas)).collect();
    }
    groups.sort_by(|a, b| a.name.cmp(&b.name));
    groups
}

fn operation(method: &str, path: &str, o: &Value) -> Operation {
    let id = text(&o["operationId"]);
    let answers = o["responses"].as_object();
    let of =
        |fine: bool| answers.into_iter().flatten().filter(move |(status, _)| status.starts_with('2') == fine);
    Operation {
        summary: text(&o["summary"]),
        going_out: if o["deprecated"] == true { text(&o["description"]) } else { String::new() },
        method: method.to_uppercase(),
        path: path.to_owned(),
        roles: api::roles_of(&id),
        parameters: o["parameters"].as_array().into_iter().flatten().map(parameter).collect(),
        takes: takes(&o["requestBody"]["content"]),
        answers: of(true)
            .map(|(status, a)| {
                let (media, content) = first(&a["content"]);
                Answer {
                    status: status.clone(),
                    about: text(&a["description"]),
                    shape: shape_of(content),
                    example: written(&content["example"]),
                    media,
                }
            })
            .collect(),
        problems: of(false)
            .filter(|(_, a)| a["description"].as_str().is_some_and(|d| d != "Done"))
            .map(|(status, a)| Problem { status: status.clone(), about: text(&a["description"]) })
            .collect(),
        id,
    }
}

fn parameter(p: &Value) -> Parameter {
    Parameter {
        name: text(&p["name"]),
        place: text(&p["in"]),
        required: p["required"] == true,
        about: text(&p["description"]),
    }
}

fn takes(content: &Value) -> Option<Takes> {
    let media: Vec<&str> = content.as_object()?.keys().map(String::as_str).collect();
    let (_, what) = first(content);
    Some(Takes { media: media.join(", "), shape: shape_of(what), example: written(&what["example"]) })
}

fn first(content: &Value) -> (String, &Value) {
    let found = content.as_object().and_then(|c| c.iter().next());
    found.map_or((String::new(), &Value::Null), |(media, what)| (media.clone(), what))
}

fn shape_of(content: &Value) -> String {
    named(&content["schema"]).filter(|name| *name != "Bytes").unwrap_or_default().to_owned()
}

fn named(schema: &Value) -> Option<&str> {
    schema["$ref"].as_str()?.strip_prefix("#/components/schemas/")
}

/// A shape with all that it is made of. Vocabularies are written out where they are used.
fn gather(name: &str, schemas: &Value, used: &mut BTreeSet<String>) {
    let schema = &schemas[name];
    if name.is_empty() || is_plain(schema) || !used.insert(name.to_owned()) {
        return;
    }
    for (_, member) in members_of(schema, schemas).1 {
        let kind = kind(member, schemas);
        if kind.is_shape {
            gather(&kind.one, schemas, used);
        }
    }
}

/// No members: a word, a figure, a file.
fn is_plain(schema: &Value) -> bool {
    schema["properties"].is_null() && schema["allOf"].is_null()
}

fn shape(name: &str, schema: &Value, schemas: &Value) -> Shape {
    let (required, members) = members_of(schema, schemas);
    Shape {
        name: name.to_owned(),
        about: text(&schema["description"]),
        members: members
            .into_iter()
            .map(|(member, of)| Member {
                required: required.contains(&member),
                kind: kind(of, schemas),
                about: about(of),
                name: member,
            })
            .collect(),
    }
}

/// Of a reference with a word beside it, too.
fn about(schema: &Value) -> String {
    text(&schema["description"])
}

/// With those of shapes that are written into this one.
fn members_of<'a>(schema: &'a Value, schemas: &'a Value) -> (BTreeSet<String>, Vec<(String, &'a Value)>) {
    let (mut required, mut members) = (BTreeSet::new(), Vec::new());
    let parts = schema["allOf"].as_array().map(Vec::as_slice).unwrap_or_default();
    for part in parts {
        let part = named(part).map_or(part, |name| &schemas[name]);
        let (more_required, more) = members_of(part, schemas);
        required.extend(more_required);
        members.extend(more);
    }
    required.extend(schema["required"].as_array().into_iter().flatten().map(text));
    let own: Option<&Map<String, Value>> = schema["properties"].as_object();
    members.extend(own.into_iter().flatten().map(|(name, of)| (name.clone(), of)));
    (required, members)
}

fn kind(schema: &Value, schemas: &Value) -> Kind {
    if let Some(name) = named(schema) {
        let of = &schemas[name];
        if is_plain(of) {
            return Kind { is_shape: false, ..kind(of, schemas) };
        }
        return Kind { one: name.to_owned(), is_shape: true, ..Kind::default() };
    }
    for choice in ["oneOf", "anyOf", "allOf"] {
        let Some(choices) = schema[choice].as_array() else { continue };
        let (nulls, others): (Vec<_>, Vec<_>) = choices.iter().partition(|c| c["type"] == "null");
        let kinds: Vec<Kind> = others.iter().map(|c| kind(c, schemas)).collect();
        let one = kinds.iter().map(|k| k.one.as_str()).collect::<Vec<_>>().join(" / ");
        let first = kinds.into_iter().next().unwrap_or_default();
        return Kind { one, or_null: !nulls.is_empty(), ..first };
    }
    let types: Vec<String> = match &schema["type"] {
        Value::Array(several) => several.iter().map(text).collect(),
        one => vec![text(one)],
    };
    let or_null = types.iter().any(|t| t == "null");
    let plain = types.iter().find(|t| *t != "null").cloned().unwrap_or_default();
    if plain == "array" {
        return Kind { list: true, or_null, ..kind(&schema["items"], schemas) };
    }
    let one = match schema["format"].as_str() {
        Some(format) if plain == "string" => format.to_owned(),
        _ => plain,
    };
    Kind { one, or_null, words: words(schema), ..Kind::default() }
}

fn words(schema: &Value) -> Vec<String> {
    schema["enum"].as_array().into_iter().flatten().map(text).collect()
}

fn written(example: &Value) -> String {
    if example.is_null() { String::new() } else { format!("{example:#}") }
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_operation_of_the_document_is_there_once() {
        let document = serde_json::to_value(api::openapi()).unwrap();
        let paths = document["paths"].as_object().unwrap().values();
        let in_document: usize = paths.map(|item| item.as_object().unwrap().len()).sum();
        let shown: Vec<&str> = guide().iter().flat_map(|g| &g.operations).map(|o| o.id.as_str()).collect();
        assert_eq!(shown.len(), in_document);
        assert_eq!(shown.iter().collect::<BTreeSet<_>>().len(), shown.len(), "an id stands twice");
        for group in guide() {
            for o in &group.operations {
                assert!(!o.summary.is_empty() && !o.answers.is_empty(), "{} {}", o.method, o.path);
                let shapes = o.answers.iter().map(|a| &a.shape).chain(o.takes.iter().map(|t| &t.shape));
                for shape in shapes.filter(|s| !s.is_empty()) {
                    assert!(group.shapes.iter().any(|s| s.name == *shape), "{shape} of {}", o.id);
                }
            }
            for member in group.shapes.iter().flat_map(|s| &s.members) {
                assert!(!member.kind.one.is_empty() || !member.kind.words.is_empty(), "{}", member.name);
                let known = group.shapes.iter().any(|s| s.name == member.kind.one);
                assert!(!member.kind.is_shape || known, "{} is {}", member.name, member.kind.one);
            }
        }
    }

    #[test]
    fn members_are_read_as_the_document_means_them() {
        let machines = guide().iter().find(|g| g.name == "machines").unwrap();
        let gate = machines.shapes.iter().find(|s| s.name == "MachineAtGate").unwrap();
        let of = |name: &str| gate.members.iter().find(|m| m.name == name).unwrap();
        // Written into it from another shape.
        assert!(of("unit_number").required);
        assert_eq!(of("standing").kind.words, ["fit for use", "monitored", "out of service", "retired"]);
        assert!(of("holds").kind.list && of("holds").kind.is_shape);
        assert_eq!(of("holds").kind.one, "Hold");
        assert!(of("last_check").kind.or_null && of("last_check").kind.is_shape);
        assert_eq!(of("retired_at").kind.one, "date-time");
    }
}
