//! What is inside, as a list that programs read: CycloneDX 1.6 in JSON (ECMA-424, <https://cyclonedx.org/docs/1.6/json>).

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::Packed;
use crate::dependencies::Dependency;
use crate::release::Release;

/// The list for the two programs of a target.
///
/// # Errors
/// When the release's time is none.
pub fn inventory(release: &Release, target: &str, dependencies: &[Dependency]) -> Packed<String> {
    let whole = format!("fieldpost@{}", release.version);
    let programs = ["fieldpost-client", "fieldpost-server"];
    let is_program = |one: &&Dependency| programs.contains(&one.name.as_str());
    let tops: Vec<String> = dependencies
        .iter()
        .filter(is_program)
        .map(reference)
        .collect();
    let mut edges = vec![json!({ "ref": whole, "dependsOn": tops })];
    edges.extend(dependencies.iter().map(|one| edges_of(one, dependencies)));
    let components: Vec<Value> = dependencies.iter().map(component).collect();
    let mut list = json!({
        "$schema": "http://cyclonedx.org/schema/bom-1.6.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {
            "timestamp": release.moment()?.to_string(),
            "component": {
                "type": "application",
                "bom-ref": whole,
                "name": "fieldpost",
                "version": release.version,
                "description": "Referee and post office for gridless figure games",
                "licenses": [{ "expression": "MIT OR Apache-2.0" }],
                "properties": [{ "name": "fieldpost:target", "value": target }],
            },
        },
        "components": components,
        "dependencies": edges,
    });
    // The same contents have the same number.
    let digest = Sha256::digest(list.to_string());
    let mut number = [0; 16];
    number.copy_from_slice(&digest[..16]);
    let number = uuid::Builder::from_custom_bytes(number).into_uuid();
    list["serialNumber"] = format!("urn:uuid:{number}").into();
    Ok(format!("{list:#}\n"))
}

/// What a package is called within the list.
fn reference(one: &Dependency) -> String {
    if one.is_own() {
        format!("{}@{}", one.name, one.version)
    } else {
        package_url(one)
    }
}

fn package_url(one: &Dependency) -> String {
    // A plus sign, which versions may hold, means a space to some readers.
    let version = one.version.replace('+', "%2B");
    format!("pkg:cargo/{}@{version}", one.name)
}

fn component(one: &Dependency) -> Value {
    let mut component = json!({
        "type": "library",
        "bom-ref": reference(one),
        "name": one.name,
        "version": one.version,
        "scope": "required",
        "licenses": [{ "expression": one.licence }],
    });
    if !one.description.is_empty() {
        component["description"] = one.description.as_str().into();
    }
    if let Some(checksum) = &one.checksum {
        component["purl"] = package_url(one).into();
        component["hashes"] = json!([{ "alg": "SHA-256", "content": checksum }]);
    }
    if let Some(repository) = &one.repository {
        component["externalReferences"] = json!([{ "type": "vcs", "url": repository }]);
    }
    component
}

fn edges_of(one: &Dependency, all: &[Dependency]) -> Value {
    let of_key = |(name, version): &(String, String)| {
        all.iter()
            .find(|other| other.name == *name && other.version == *version)
            .map(reference)
    };
    let built_on: Vec<String> = one.built_on.iter().filter_map(of_key).collect();
    json!({ "ref": reference(one), "dependsOn": built_on })
}
