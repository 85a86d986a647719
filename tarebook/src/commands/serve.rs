//! `serve [DIR] [--port N] [--share]`: the notebook in a browser.
//!
//! Listens on this machine only; with `--share` on the address that this machine has in the local network, where other
//! devices need the code that is printed here, once. Ends with Ctrl-C; what was acknowledged is on the disk.

use crate::notebook::{Notebook, NotebookError};
use crate::output::{self, Exit, Failure, finding};
use crate::server::{self, Office, Share};
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Options of `serve`.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// Folder of the notebook; the present one if not given
    #[arg(default_value = ".")]
    folder: PathBuf,
    /// Port to listen on; 0 takes a free one
    #[arg(long, default_value_t = 8347)]
    port: u16,
    /// Let other devices in the local network in, after a code that works once
    #[arg(long)]
    share: bool,
    /// Write a backup into the folder, which must be empty, before serving it
    #[arg(long, value_name = "BACKUP")]
    restore: Option<PathBuf>,
}

/// Serves a notebook until it is told to stop.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let opened = match &options.restore {
        Some(backup) => Notebook::restore(backup, &options.folder),
        None => Notebook::open(&options.folder),
    };
    match opened {
        Ok(notebook) => listen(notebook, options.port, options.share, json),
        Err(error) => unusable(&options.folder, &error, json),
    }
}

/// Opens a folder and serves it: what `demo` ends with.
pub fn folder(folder: &Path, port: u16, json: bool) -> Result<Exit, Failure> {
    match Notebook::open(folder) {
        Ok(notebook) => listen(notebook, port, false, json),
        Err(error) => unusable(folder, &error, json),
    }
}

fn unusable(folder: &Path, error: &NotebookError, json: bool) -> Result<Exit, Failure> {
    let message = format!("{} cannot be used as a notebook: {error}.", folder.display());
    super::wrong(&[finding("unusable-notebook", message, &[])], &[], &folder.display().to_string(), json)
}

/// How long what is under way has to end once the notebook is closed.
const LEAVING: Duration = Duration::from_millis(500);

fn listen(notebook: Notebook, port: u16, share: bool, json: bool) -> Result<Exit, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        // More threads would each hold memory of their own and have no core to run on.
        .max_blocking_threads(16)
        .enable_all()
        .build();
    let runtime = runtime.map_err(Failure::Output)?;
    let done = runtime.block_on(answer(notebook, port, share, json));
    // An account that is being sampled is not waited for; what was entered is written before it is answered.
    runtime.shutdown_timeout(LEAVING);
    done
}

async fn answer(notebook: Notebook, port: u16, share: bool, json: bool) -> Result<Exit, Failure> {
    let shared = if share { Some(lan_address().map_err(Failure::Output)?) } else { None };
    let bind =
        SocketAddr::new(if share { IpAddr::V4(Ipv4Addr::UNSPECIFIED) } else { IpAddr::V4(Ipv4Addr::LOCALHOST) }, port);
    let listener = match tokio::net::TcpListener::bind(bind).await {
        Ok(listener) => listener,
        Err(error) => {
            let message = format!("Port {port} cannot be used: {error}.");
            let hints = ["Choose another with --port, or 0 for a free one."];
            return super::wrong(&[finding("port-in-use", message, &hints)], &[], "serve", json);
        }
    };
    let port = listener.local_addr().map_err(Failure::Output)?.port();
    let address = format!("http://127.0.0.1:{port}/");
    let folder = notebook.folder().display().to_string();
    let share = match shared {
        Some(address) => Some(Share { address, code: server::code().map_err(Failure::Output)? }),
        None => None,
    };
    if json {
        let shared = share.as_ref().map(|share| {
            let address = format!("http://{}/", SocketAddr::new(share.address, port));
            serde_json::json!({ "address": address, "code": share.code })
        });
        output::print_json(&serde_json::json!({ "address": address, "folder": folder, "shared": shared }))?;
    } else {
        output::print(&told(&address, &folder, share.as_ref(), port))?;
    }
    let office = match Office::new(notebook, port, share) {
        Ok(office) => office,
        Err(error) => return unusable(Path::new(&folder), &error, json),
    };
    tokio::spawn(server::watch(office.clone()));
    // The address that a request comes from decides who needs the code.
    let app = server::app(office).into_make_service_with_connect_info::<SocketAddr>();
    let stop = async {
        // Where no signal can be waited for, the program is ended from outside, which is safe too.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    tokio::select! {
        ended = axum::serve(listener, app).into_future() => ended.map_err(Failure::Output)?,
        () = stop => {}
    }
    Ok(Exit::Done)
}

fn told(address: &str, folder: &str, share: Option<&Share>, port: u16) -> String {
    let mut text = format!("The notebook in {folder} is open at {address}\nCtrl-C closes it.\n");
    if let Some(share) = share {
        text += &format!(
            "\n{}\nShared: other devices in this network open http://{}:{port}/ and give the code {}, which works once.\nThe connection is not encrypted: whoever listens on this network can read along. Use it on a network you trust.\n",
            camera(share, port),
            share.address,
            share.code
        );
    }
    text
}

/// The address with the code as a square for the camera of a phone, dark on light whatever the colours of the terminal;
/// nothing if it cannot be drawn.
fn camera(share: &Share, port: u16) -> String {
    let address = format!("http://{}/pair?code={}", SocketAddr::new(share.address, port), share.code);
    let square = qrcode::QrCode::new(address)
        .map(|code| code.render::<qrcode::render::unicode::Dense1x2>().quiet_zone(true).build())
        .unwrap_or_default();
    // Where colours are not shown, they are left out on the way to the terminal.
    square.lines().map(|line| format!("\u{1b}[30;107m{line}\u{1b}[0m")).collect::<Vec<_>>().join("\n")
}

/// The address that this machine has in the local network; nothing is sent to find it.
fn lan_address() -> io::Result<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))?;
    // An address set aside for documentation (RFC 5737): the system only says by which of its own it would go there.
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9))?;
    Ok(socket.local_addr()?.ip())
}
