//! Reads tauri.conf.json and the capabilities.

fn main() {
    tauri_build::try_build(
        tauri_build::Attributes::new()
            .app_manifest(tauri_build::AppManifest::new().commands(&["ask", "phone"])),
    )
    .unwrap_or_else(|e| {
        println!("cargo::error={e:#}");
    });
}
