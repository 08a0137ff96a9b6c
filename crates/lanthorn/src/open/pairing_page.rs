//! How another device is shown the way here.

use anyhow::{Context, Result};
use qrcode::render::svg;
use qrcode::{EcLevel, QrCode};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// What a wrong secret gets.
pub(crate) const WRONG: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\">\
<meta name=\"viewport\" content=\"width=device-width\"><title>Lanthorn</title>\
<h1>This code does not pair any more</h1><p>Each code pairs one device, once, within ten minutes. Show a new one on the \
machine where Lanthorn runs, and scan that.</p></html>";

/// What a device that is not paired sees.
pub(crate) const UNPAIRED: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\">\
<meta name=\"viewport\" content=\"width=device-width\"><title>Lanthorn</title>\
<h1>This device is not paired</h1><p>Open Lanthorn on the machine where it runs, choose to share it, and scan the code that \
it shows.</p></html>";

/// The address to open elsewhere, and the same as a picture to be scanned.
pub(crate) fn shared(address: &SocketAddr, secret: &str) -> Result<(String, String)> {
    let url = format!("http://{address}/pair/{secret}");
    let code = QrCode::with_error_correction_level(&url, EcLevel::M).context("the address is too long for a code")?;
    let picture = code
        .render::<svg::Color>()
        .min_dimensions(240, 240)
        .dark_color(svg::Color("#1d2733"))
        .light_color(svg::Color("#fbfaf6"))
        .build();
    Ok((url, picture))
}

/// The address of this machine on the network that leads elsewhere. Nothing is sent for it: a socket for datagrams is only given
/// a direction, and the system says which of its addresses it would send from.
pub(crate) fn own_address() -> Result<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).context("no network")?;
    // An address kept for documentation (RFC 5737): nobody has it.
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).context("this machine is on no network")?;
    Ok(socket.local_addr()?.ip())
}
