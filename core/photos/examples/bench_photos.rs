//! For `tests/bench/photos`: makes both copies of each photo of a folder, with hash and facts, on one thread, and
//! prints the seconds of each and the most memory it took. `bench_photos FROM TO`
#![allow(clippy::print_stdout, reason = "it reports")]

use std::{env, error::Error, fs, path::PathBuf, time::Instant};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = env::args().skip(1).map(PathBuf::from);
    let (from, to) = arguments
        .next()
        .zip(arguments.next())
        .ok_or("bench_photos FROM TO")?;
    let mut photos: Vec<PathBuf> = fs::read_dir(from)?
        .map(|file| file.map(|file| file.path()))
        .collect::<Result<_, _>>()?;
    photos.sort();
    // As a phone does it with photos that come together.
    let mut copier = bowseam_photos::Copier::default();
    for path in photos {
        let begun = Instant::now();
        let bytes = fs::read(&path)?;
        let kept = bowseam_photos::look(&bytes)?;
        let [large, small] = copier.both(&bytes)?;
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        fs::write(to.join(format!("{name}_large.jpg")), large)?;
        fs::write(to.join(format!("{name}_small.jpg")), small)?;
        println!("{name} {:.4} {}", begun.elapsed().as_secs_f64(), kept.sha256);
    }
    println!("memory {}", most_memory().unwrap_or_default());
    Ok(())
}

/// The most memory so far, kB, as the kernel counts it.
fn most_memory() -> Option<String> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1).map(str::to_owned)
}
