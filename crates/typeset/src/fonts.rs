//! The fonts of every document. Their licences lie beside them in `fonts/`.

use typst::foundations::Bytes;
use typst::text::Font;

/// In the order in which the library looks for a sign that the text's own font lacks.
const FILES: [&[u8]; 4] = [
    include_bytes!("../fonts/LibertinusSerif-Regular.otf"),
    include_bytes!("../fonts/LibertinusSerif-Semibold.otf"),
    include_bytes!("../fonts/LibertinusSerif-Italic.otf"),
    include_bytes!("../fonts/DejaVuSansMono.ttf"),
];

/// All of them.
pub(crate) fn all() -> Vec<Font> {
    FILES.into_iter().filter_map(|bytes| Font::new(Bytes::new(bytes), 0)).collect()
}
