//! The Debian package: the program, its service, its user and its folder.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::{Made, packaging};
use crate::run::{root, run};

/// What is in it: from where, to where, and whether it is run.
fn contents(made: &Made) -> Vec<(PathBuf, &'static str, bool)> {
    vec![
        (made.program.clone(), "usr/bin/goldward", true),
        (packaging("goldward.service"), "usr/lib/systemd/system/goldward.service", false),
        (packaging("sysusers.conf"), "usr/lib/sysusers.d/goldward.conf", false),
        (packaging("tmpfiles.conf"), "usr/lib/tmpfiles.d/goldward.conf", false),
        (packaging("default"), "etc/default/goldward", false),
        (root().join("LICENSE"), "usr/share/doc/goldward/copyright", false),
        (root().join("docs/install.md"), "usr/share/doc/goldward/install.md", false),
        (root().join("docs/club.md"), "usr/share/doc/goldward/club.md", false),
        (root().join("docs/backup.md"), "usr/share/doc/goldward/backup.md", false),
        (root().join("docs/security.md"), "usr/share/doc/goldward/security.md", false),
        (packaging("postinst"), "DEBIAN/postinst", true),
        (packaging("prerm"), "DEBIAN/prerm", true),
        (packaging("postrm"), "DEBIAN/postrm", true),
    ]
}

/// What Debian is told of it.
fn control(version: &str, kilobytes: u64) -> String {
    format!(
        "Package: goldward\nVersion: {version}\nArchitecture: amd64\nMaintainer: Goldward contributors <goldward@example.org>\n\
         Installed-Size: {kilobytes}\nDepends: systemd\nSection: misc\nPriority: optional\n\
         Description: reads where arrows landed and says whether to move the sight\n \
         The program goldward with its web app inside, and a service that keeps the logs of archers\n on a machine of their own: \
         on this machine only until accounts are added.\n"
    )
}

/// Makes the package of that version; returns where it is.
pub(super) fn make(made: &Made, version: &str) -> Result<PathBuf, String> {
    let tree = made.folder.join("deb");
    let package = made.folder.join(format!("goldward_{version}_amd64.deb"));
    let cannot = |e: std::io::Error| format!("the package cannot be put together: {e}");
    let _ = fs::remove_dir_all(&tree);
    let mut bytes = 0;
    for (from, to, is_run) in contents(made) {
        let to = tree.join(to);
        fs::create_dir_all(to.parent().unwrap_or(&tree)).map_err(cannot)?;
        bytes += fs::copy(&from, &to).map_err(|e| format!("{}: {e}", from.display()))?;
        fs::set_permissions(&to, fs::Permissions::from_mode(if is_run { 0o755 } else { 0o644 })).map_err(cannot)?;
    }
    for folder in folders(&tree) {
        fs::set_permissions(folder, fs::Permissions::from_mode(0o755)).map_err(cannot)?;
    }
    fs::write(tree.join("DEBIAN/control"), control(version, bytes / 1024)).map_err(cannot)?;
    // What whoever looks after the machine has changed is kept.
    fs::write(tree.join("DEBIAN/conffiles"), "/etc/default/goldward\n").map_err(cannot)?;
    let mut build = Command::new("dpkg-deb");
    build.args(["--root-owner-group", "-Zxz", "--build"]).arg(&tree).arg(&package);
    run("Debian package", build)?;
    fs::remove_dir_all(&tree).map_err(cannot)?;
    Ok(package)
}

fn folders(of: &Path) -> Vec<PathBuf> {
    let inside = fs::read_dir(of).into_iter().flatten().flatten().map(|e| e.path()).filter(|p| p.is_dir());
    let mut all: Vec<PathBuf> = inside.flat_map(|p| folders(&p)).collect();
    all.push(of.to_owned());
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_handed_out_is_there_and_told_as_debian_wants_it() {
        let made = Made { folder: PathBuf::new(), program: root().join("Cargo.toml"), web: PathBuf::new() };
        for (from, to, _) in contents(&made) {
            assert!(from.is_file(), "{} for {to}", from.display());
        }
        let told = control("1.2.3", 7);
        assert!(told.ends_with(".\n") && told.lines().all(|l| l.starts_with(' ') || l.contains(": ")), "{told}");
        assert!(told.contains("\nVersion: 1.2.3\n") && told.contains("\nInstalled-Size: 7\n"), "{told}");
        // A recipe for a container takes what is left in the folder.
        let recipe = fs::read_to_string(packaging("Containerfile")).unwrap();
        let copied = recipe
            .lines()
            .filter_map(|l| l.strip_prefix("COPY "))
            .map(|l| l.split(' ').find(|w| !w.starts_with("--")).unwrap());
        assert_eq!(copied.collect::<Vec<_>>(), ["goldward", "data"]);
    }
}
