//! Writes the JavaScript module and the TypeScript types round a compiled core.
//!
//! Usage: `neckwright-glue CORE.wasm OUT_DIR NAME`. It stands in for the command of the same crate family, so that nothing has
//! to be installed beside the toolchain: the version is pinned by our own lock file, as it must equal the library's.

use std::path::PathBuf;
use std::process::ExitCode;

use wasm_bindgen_cli_support::Bindgen;

fn main() -> ExitCode {
    let mut arguments = std::env::args_os().skip(1);
    let paths = (arguments.next().map(PathBuf::from), arguments.next().map(PathBuf::from));
    let name = arguments.next().and_then(|name| name.into_string().ok());
    let ((Some(core), Some(out)), Some(name), None) = (paths, name, arguments.next()) else {
        eprintln!("usage: neckwright-glue CORE.wasm OUT_DIR NAME");
        return ExitCode::from(2);
    };
    let mut bindgen = Bindgen::new();
    // the module finds the wasm beside itself, so that a page need not name it
    bindgen.input_path(core).out_name(&name).typescript(true).omit_default_module_path(false);
    match bindgen.web(true).and_then(|bindgen| bindgen.generate(out)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::FAILURE
        }
    }
}
