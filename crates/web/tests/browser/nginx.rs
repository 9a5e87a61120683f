//! A usual web server, before or in place of ours.

use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// It ends with the test.
pub struct Nginx(Child);

impl Drop for Nginx {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Nginx {
    /// With these settings of its `http`, until it answers on that port; nothing, and a loud line, when the machine has none.
    pub fn start(folder: &Path, port: u16, http: &str) -> Option<Self> {
        let path = std::env::var_os("PATH").unwrap_or_default();
        let mut folders = std::env::split_paths(&path).chain([PathBuf::from("/usr/sbin")]);
        let Some(program) = folders.find_map(|f| Some(f.join("nginx")).filter(|p| p.is_file())) else {
            eprintln!("\n*** NO NGINX ON THIS MACHINE: THIS TEST DID NOT RUN (install Debian's nginx-light) ***\n");
            return None;
        };
        let at = folder.join("nginx");
        std::fs::create_dir(&at).expect("a folder");
        let temporary: String = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"]
            .map(|t| format!("{t}_temp_path {}/{t};\n", at.display()))
            .concat();
        let config = format!(
            "daemon off; master_process off; pid {0}/pid; error_log {0}/log;\nevents {{}}\nhttp {{\n{temporary}{http}\n}}\n",
            at.display()
        );
        std::fs::write(at.join("conf"), config).expect("its settings");
        let mut command = Command::new(program);
        command.arg("-p").arg(&at).arg("-e").arg(at.join("log")).arg("-c").arg(at.join("conf"));
        let mut nginx = Self(command.stdout(Stdio::null()).stderr(Stdio::inherit()).spawn().expect("nginx"));
        for _ in 0..200 {
            if TcpStream::connect(("127.0.0.1", port)).is_ok() {
                return Some(nginx);
            }
            if let Ok(Some(status)) = nginx.0.try_wait() {
                panic!("nginx ended ({status}): {}", std::fs::read_to_string(at.join("log")).unwrap_or_default());
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("nginx does not answer");
    }
}
