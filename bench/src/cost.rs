//! What this process has cost so far.

/// Processor time of all threads of this process so far, s: fields 14 and 15 of the kernel's account, in hundredths.
pub(crate) fn cpu_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // The second field is the program's name in brackets and may hold anything.
    let fields = stat.rsplit(')').next().unwrap_or_default().split_whitespace();
    fields.skip(11).take(2).filter_map(|f| f.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// Largest memory of this process so far, megabytes, from the kernel's account of it; 0 where there is none.
pub(crate) fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let kb = status.lines().find_map(|l| l.strip_prefix("VmHWM:")?.trim().strip_suffix("kB")?.trim().parse().ok());
    kb.unwrap_or(0.0) / 1000.0
}
