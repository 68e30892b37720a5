//! What the program is made of, held to `.deny.toml`: licences, sources, and what must not be in it.

use std::path::Path;
use std::process::Command;

use serde_json::Value;
use spdx::{Expression, LicenseReq, Licensee, ParseMode};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn settings() -> toml::Table {
    std::fs::read_to_string(Path::new(ROOT).join(".deny.toml")).unwrap().parse().unwrap()
}

/// Of this kind of computer: of others not even the manifests are there.
fn packages() -> Vec<Value> {
    let compiler = Command::new("rustc").arg("-vV").output().unwrap();
    let about = String::from_utf8(compiler.stdout).unwrap();
    let host = about.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let asked = Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform", host])
        .current_dir(ROOT)
        .output()
        .unwrap();
    assert!(asked.status.success(), "{}", String::from_utf8_lossy(&asked.stderr));
    let metadata: Value = serde_json::from_slice(&asked.stdout).unwrap();
    metadata["packages"].as_array().unwrap().clone()
}

fn strings(value: &toml::Value) -> Vec<String> {
    value.as_array().unwrap().iter().map(|v| v.as_str().unwrap().to_owned()).collect()
}

/// Whether one of its licences, as SPDX writes them, is among the allowed.
fn is_allowed(expression: &str, allowed: &[Licensee]) -> bool {
    let parsed = Expression::parse_mode(expression, ParseMode::LAX);
    let parsed = parsed.unwrap_or_else(|e| panic!("{expression}: {e}"));
    parsed.evaluate(|asked: &LicenseReq| allowed.iter().any(|a| a.satisfies(asked)))
}

#[test]
fn every_licence_asks_for_its_notice_only() {
    let settings = settings();
    let allowed: Vec<Licensee> =
        strings(&settings["licenses"]["allow"]).iter().map(|l| Licensee::parse(l).unwrap()).collect();
    // The test can fail.
    assert!(!is_allowed("GPL-3.0-only", &allowed) && !is_allowed("MIT AND AGPL-3.0-only", &allowed));
    assert!(is_allowed("GPL-2.0-only OR Apache-2.0", &allowed), "one of two is enough");
    let all = packages();
    assert!(all.len() > 300, "{}", all.len());
    for package in &all {
        let licence = package["license"].as_str().unwrap_or_else(|| panic!("{} says none", package["name"]));
        assert!(is_allowed(licence, &allowed), "{}: {licence}", package["name"]);
    }
}

#[test]
fn all_of_it_comes_from_the_registry_and_none_of_it_is_banned() {
    let settings = settings();
    let registries = strings(&settings["sources"]["allow-registry"]);
    let banned = settings["bans"]["deny"].as_array().unwrap();
    let banned: Vec<&str> = banned.iter().map(|b| b["crate"].as_str().unwrap()).collect();
    for package in packages() {
        let name = package["name"].as_str().unwrap();
        assert!(!banned.contains(&name), "{name} is banned");
        match package["source"].as_str() {
            None => assert_eq!(name, "chock", "a crate from a folder"),
            Some(source) => {
                assert!(registries.iter().any(|r| source == format!("registry+{r}")), "{name}: {source}");
            }
        }
    }
}
