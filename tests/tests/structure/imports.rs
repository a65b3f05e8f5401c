//! Which file of a crate takes names from which: read from the sources, each name followed to the file that defines
//! it. A file that only hands names on (`pub use`) is passed through.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use syn::visit::{self, Visit};

/// A module's path within its crate; empty for the crate's root.
pub type Module = Vec<String>;

/// From each module to those whose names it takes, with the names.
pub type Arrows = BTreeMap<Module, BTreeMap<Module, BTreeSet<String>>>;

/// The files of one crate, by module.
pub struct Sources {
    files: BTreeMap<Module, File>,
}

#[derive(Default)]
struct File {
    /// Names of items defined here.
    defines: BTreeSet<String>,
    /// What each imported name stands for, private and public.
    imports: Vec<Import>,
    /// Paths written out in code.
    paths: Vec<Vec<String>>,
}

struct Import {
    name: String,
    path: Vec<String>,
    is_handed_on: bool,
}

impl Sources {
    /// Reads a crate from the file that is its root; test modules are left out.
    pub fn read(root: &Path) -> Self {
        let mut sources = Self {
            files: BTreeMap::new(),
        };
        sources.load(Vec::new(), root);
        sources
    }

    fn load(&mut self, module: Module, path: &Path) {
        let text = std::fs::read_to_string(path).unwrap_or_else(|_| panic!("{}", path.display()));
        let parsed =
            syn::parse_file(&text).unwrap_or_else(|why| panic!("{}: {why}", path.display()));
        let mut reader = Reader::default();
        reader.visit_file(&parsed);
        for (child, at) in reader.children {
            let mut inner = module.clone();
            inner.push(child.clone());
            let file = match at {
                Some(at) => path.parent().expect("a folder").join(at),
                None => file_of(path, &child),
            };
            self.load(inner, &file);
        }
        self.files.insert(module, reader.file);
    }

    /// From each module to those whose names it takes, with the names.
    pub fn arrows(&self) -> Arrows {
        let mut arrows: Arrows = BTreeMap::new();
        for (module, file) in &self.files {
            let to = arrows.entry(module.clone()).or_default();
            let imported = file.imports.iter().filter(|import| !import.is_handed_on);
            let imported = imported.map(|import| import.path.clone());
            let written = file.paths.iter().map(|path| file.spelt_out(path));
            for path in imported.chain(written) {
                if let Some(home) = self.home(module, &path, 0)
                    && home != *module
                {
                    let name = path.last().cloned().unwrap_or_default();
                    to.entry(home).or_default().insert(name);
                }
            }
        }
        arrows
    }

    /// The module that defines what a path within a module names.
    fn home(&self, from: &Module, path: &[String], depth: usize) -> Option<Module> {
        const DEEPEST: usize = 16;
        let mut at = from.clone();
        let mut rest = path;
        let is_local = match rest.first()?.as_str() {
            "crate" | "self" | "super" => true,
            first => self.has_child(from, first),
        };
        if !is_local || depth > DEEPEST {
            return None;
        }
        while let Some(first) = rest.first() {
            match first.as_str() {
                "crate" => at.clear(),
                "self" => {}
                "super" => {
                    at.pop();
                }
                _ => break,
            }
            rest = &rest[1..];
        }
        while let Some(name) = rest.first() {
            if self.has_child(&at, name) {
                at.push(name.clone());
                rest = &rest[1..];
                continue;
            }
            let file = self.files.get(&at)?;
            if file.defines.contains(name) {
                return Some(at);
            }
            let handed_on = file
                .imports
                .iter()
                .filter(|import| import.name == *name)
                .find_map(|import| self.home(&at, &import.path, depth + 1));
            return Some(handed_on.unwrap_or(at));
        }
        Some(at)
    }

    fn has_child(&self, module: &Module, name: &str) -> bool {
        let mut child = module.clone();
        child.push(name.to_owned());
        self.files.contains_key(&child)
    }
}

impl File {
    /// A path that begins with an imported name, spelt out.
    fn spelt_out(&self, path: &[String]) -> Vec<String> {
        let import = self.imports.iter().find(|import| import.name == path[0]);
        match import {
            Some(import) => [&import.path[..], &path[1..]].concat(),
            None => path.to_vec(),
        }
    }
}

/// The file of a module that another file declares.
fn file_of(parent: &Path, child: &str) -> PathBuf {
    let folder = parent.parent().expect("a folder");
    let stem = parent.file_stem().and_then(|stem| stem.to_str());
    let folder = match stem {
        Some("lib" | "main" | "mod") | None => folder.to_owned(),
        Some(stem) => folder.join(stem),
    };
    let plain = folder.join(format!("{child}.rs"));
    if plain.exists() {
        plain
    } else {
        folder.join(child).join("mod.rs")
    }
}

/// Collects what a file declares, defines, imports and names.
#[derive(Default)]
struct Reader {
    file: File,
    /// Modules declared here, with the path that an attribute gives.
    children: Vec<(String, Option<String>)>,
}

impl Reader {
    fn import(&mut self, tree: &syn::UseTree, before: &[String], is_handed_on: bool) {
        let mut path = before.to_vec();
        let mut add = |name: String, path: Vec<String>| {
            self.file.imports.push(Import {
                name,
                path,
                is_handed_on,
            });
        };
        match tree {
            syn::UseTree::Path(inner) => {
                path.push(inner.ident.to_string());
                self.import(&inner.tree, &path, is_handed_on);
            }
            syn::UseTree::Name(name) if name.ident == "self" => {
                add(path.last().cloned().unwrap_or_default(), path);
            }
            syn::UseTree::Name(name) => {
                path.push(name.ident.to_string());
                add(name.ident.to_string(), path);
            }
            syn::UseTree::Rename(rename) => {
                path.push(rename.ident.to_string());
                add(rename.rename.to_string(), path);
            }
            syn::UseTree::Glob(_) => add("*".to_owned(), path),
            syn::UseTree::Group(group) => {
                for inner in &group.items {
                    self.import(inner, &path, is_handed_on);
                }
            }
        }
    }

    fn define(&mut self, name: &syn::Ident) {
        self.file.defines.insert(name.to_string());
    }
}

/// Whether an item is there for tests alone.
fn is_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("cfg")
            && quote::ToTokens::to_token_stream(&attribute.meta)
                .to_string()
                .contains("test")
    })
}

/// The file that `#[path = "..."]` names.
fn path_attribute(attribute: &syn::Attribute) -> Option<String> {
    let syn::Meta::NameValue(pair) = &attribute.meta else {
        return None;
    };
    match &pair.value {
        syn::Expr::Lit(syn::ExprLit {
            lit: syn::Lit::Str(text),
            ..
        }) if pair.path.is_ident("path") => Some(text.value()),
        _ => None,
    }
}

impl<'ast> Visit<'ast> for Reader {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        match item {
            syn::Item::Mod(module) if is_for_tests(&module.attrs) => return,
            syn::Item::Mod(module) if module.content.is_none() => {
                let at = module.attrs.iter().find_map(path_attribute);
                self.children.push((module.ident.to_string(), at));
            }
            syn::Item::Use(import) => {
                if !is_for_tests(&import.attrs) {
                    let is_public = !matches!(import.vis, syn::Visibility::Inherited);
                    self.import(&import.tree, &[], is_public);
                }
                return;
            }
            syn::Item::Struct(item) => self.define(&item.ident),
            syn::Item::Enum(item) => self.define(&item.ident),
            syn::Item::Trait(item) => self.define(&item.ident),
            syn::Item::Type(item) => self.define(&item.ident),
            syn::Item::Const(item) => self.define(&item.ident),
            syn::Item::Static(item) => self.define(&item.ident),
            syn::Item::Fn(item) if is_for_tests(&item.attrs) => return,
            syn::Item::Fn(item) => self.define(&item.sig.ident),
            _ => {}
        }
        visit::visit_item(self, item);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        if path.leading_colon.is_none() && path.segments.len() > 1 {
            let names = path.segments.iter().map(|part| part.ident.to_string());
            self.file.paths.push(names.collect());
        }
        visit::visit_path(self, path);
    }
}

/// Modules that reach one another in a ring, each ring sorted; none when every arrow runs one way.
pub fn circles(arrows: &Arrows) -> Vec<Vec<Module>> {
    let reached: BTreeMap<&Module, BTreeSet<&Module>> = arrows
        .keys()
        .map(|module| (module, reachable(arrows, module)))
        .collect();
    let mut circles: BTreeSet<Vec<Module>> = BTreeSet::new();
    for (module, from_here) in &reached {
        let ring: Vec<Module> = from_here
            .iter()
            .filter(|other| {
                reached
                    .get(*other)
                    .is_some_and(|back| back.contains(module))
            })
            .map(|other| (*other).clone())
            .collect();
        if ring.len() > 1 {
            circles.insert(ring);
        }
    }
    circles.into_iter().collect()
}

fn reachable<'a>(arrows: &'a Arrows, from: &Module) -> BTreeSet<&'a Module> {
    let mut found = BTreeSet::new();
    let mut waiting: Vec<&Module> = arrows
        .get(from)
        .into_iter()
        .flat_map(BTreeMap::keys)
        .collect();
    while let Some(next) = waiting.pop() {
        if found.insert(next) {
            waiting.extend(arrows.get(next).into_iter().flat_map(BTreeMap::keys));
        }
    }
    found
}
