//! The routines that come with the program, inside it.

/// A routine inside the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shipped {
    /// Its name: the name of its file without the ending.
    pub name: &'static str,
    /// The file's text.
    pub text: &'static str,
}

macro_rules! shipped {
    ($($name:literal),* $(,)?) => {
        &[$(Shipped { name: $name, text: include_str!(concat!("../../drills/", $name, ".yaml")) }),*]
    };
}

/// All routines of the folder `drills`, in the order of their names.
pub const SHIPPED: &[Shipped] = shipped![
    "audition",
    "chairlift",
    "geese",
    "lost-umbrella",
    "slow-post"
];

/// The routine of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Shipped> {
    SHIPPED.iter().find(|s| s.name == name)
}

#[cfg(test)]
mod tests {
    use super::SHIPPED;

    #[test]
    fn the_table_lists_exactly_the_files_of_the_folder() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("drills");
        let mut files: Vec<String> = match std::fs::read_dir(&folder) {
            Ok(entries) => entries
                .map(|e| e.unwrap().file_name().into_string().unwrap())
                .collect(),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Vec::new(),
            Err(e) => panic!("{}: {e}", folder.display()),
        };
        files.sort();
        let listed: Vec<String> = SHIPPED.iter().map(|s| format!("{}.yaml", s.name)).collect();
        assert_eq!(listed, files);
    }
}
