use std::collections::BTreeMap;
use std::sync::LazyLock;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use rust_embed::RustEmbed;

use super::{Lang, Spoken, Value};

#[derive(RustEmbed)]
#[folder = "web/words"]
struct Files;

type Bundle = FluentBundle<FluentResource>;

static BUNDLES: LazyLock<Vec<Bundle>> = LazyLock::new(|| Lang::ALL.iter().map(|l| bundle(*l)).collect());

/// The sentence of a key. A fault in it (no such key, something to fill in that was not given) stops a debug build;
/// a release logs it and shows what there is.
pub fn say(lang: Lang, key: &str, given: &[(&'static str, &dyn Spoken)]) -> String {
    let bundle = &BUNDLES[lang as usize];
    let Some(pattern) = bundle.get_message(key).and_then(|m| m.value()) else {
        tracing::error!(lang = lang.tag(), key, "a catalogue has no such key");
        debug_assert!(false, "the catalogue {} has no key {key:?}", lang.tag());
        return key.to_owned();
    };
    let mut args = FluentArgs::with_capacity(given.len());
    for (name, value) in given {
        args.set(
            *name,
            match value.spoken(lang) {
                Value::Words(words) => FluentValue::String(words),
                Value::Count(n) => FluentValue::from(n),
            },
        );
    }
    let mut faults = Vec::new();
    let said = bundle.format_pattern(pattern, Some(&args), &mut faults).into_owned();
    if !faults.is_empty() {
        tracing::error!(lang = lang.tag(), key, ?faults, "a sentence could not be filled in");
        debug_assert!(false, "{key:?} in {}: {faults:?}", lang.tag());
    }
    said
}

/// The files of a language, by name.
pub(super) fn files(lang: Lang) -> Vec<(String, String)> {
    let folder = format!("{}/", lang.tag());
    let mut names: Vec<_> = Files::iter().filter(|n| n.starts_with(&folder)).collect();
    names.sort();
    names
        .into_iter()
        .filter_map(|name| {
            let text = String::from_utf8(Files::get(&name)?.data.into_owned()).expect("catalogues are UTF-8");
            Some((name[folder.len()..].to_owned(), text))
        })
        .collect()
}

fn bundle(lang: Lang) -> Bundle {
    let tag = lang.tag().parse().expect("a language tag");
    let mut bundle = Bundle::new_concurrent(vec![tag]);
    // Marks around what is filled in would end up in copied text, in the API and in mail subjects.
    bundle.set_use_isolating(false);
    for (name, text) in files(lang) {
        let resource = FluentResource::try_new(text)
            .unwrap_or_else(|(_, faults)| panic!("web/words/{}/{name}: {faults:?}", lang.tag()));
        bundle
            .add_resource(resource)
            .unwrap_or_else(|faults| panic!("web/words/{}/{name}: {faults:?}", lang.tag()));
    }
    bundle
}

/// What the scripts of pages say, by key: those of the files that are named for them. A text is a list of pieces, each
/// a string, `["name"]` for what is filled in, or `["name", {"one": [...], "other": [...]}]` for a choice by number.
pub fn for_scripts(lang: Lang) -> BTreeMap<String, serde_json::Value> {
    let mut all = BTreeMap::new();
    for (name, text) in files(lang) {
        if !name.starts_with("script") && !name.starts_with("judge") {
            continue;
        }
        let resource = fluent_syntax::parser::parse(text.as_str()).expect("parsed before");
        for entry in resource.body {
            if let fluent_syntax::ast::Entry::Message(m) = entry
                && let Some(pattern) = m.value
            {
                all.insert(m.id.name.to_owned(), pieces(&pattern));
            }
        }
    }
    all
}

fn pieces(pattern: &fluent_syntax::ast::Pattern<&str>) -> serde_json::Value {
    use fluent_syntax::ast::{Expression, InlineExpression, PatternElement, VariantKey};
    let named = |inline: &InlineExpression<&str>| match inline {
        InlineExpression::VariableReference { id } => id.name.to_owned(),
        other => panic!("scripts know names only, not {other:?}"),
    };
    let mut list = Vec::new();
    for element in &pattern.elements {
        list.push(match element {
            PatternElement::TextElement { value } => serde_json::json!(value),
            PatternElement::Placeable {
                expression: Expression::Inline(InlineExpression::StringLiteral { value }),
            } => {
                serde_json::json!(value)
            }
            PatternElement::Placeable { expression: Expression::Inline(inline) } => {
                serde_json::json!([named(inline)])
            }
            PatternElement::Placeable { expression: Expression::Select { selector, variants } } => {
                let of: BTreeMap<&str, serde_json::Value> = variants
                    .iter()
                    .map(|v| {
                        let key = match v.key {
                            VariantKey::Identifier { name } => name,
                            VariantKey::NumberLiteral { value } => value,
                        };
                        (key, pieces(&v.value))
                    })
                    .collect();
                serde_json::json!([named(selector), of])
            }
        });
    }
    serde_json::Value::Array(list)
}

#[cfg(test)]
#[path = "catalogue_tests.rs"]
mod tests;
