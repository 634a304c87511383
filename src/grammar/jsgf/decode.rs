//! Bytes of a grammar file to text, by the encoding that its header declares.

use crate::grammar::error::{Error, Pos, Result};

/// The text of a grammar file. A byte order mark wins over the header; without
/// either the file must be UTF-8.
pub fn text_of(file: &str, bytes: &[u8]) -> Result<String> {
    let marked = encoding_rs::Encoding::for_bom(bytes).map(|(e, _)| e);
    let encoding = match marked.or_else(|| declared(bytes)) {
        Some(encoding) => encoding,
        None => encoding_rs::UTF_8,
    };
    let (text, used, damaged) = encoding.decode(bytes);
    if damaged {
        return Err(Error::at(
            file,
            Pos::default(),
            format!("the file is not {}", used.name()),
            "save it as UTF-8, or name its encoding in the header: `#JSGF V1.0 ISO-8859-1 en;`",
        ));
    }
    Ok(text.into_owned())
}

/// The encoding named in the header, where it is one that can be told from its label.
fn declared(bytes: &[u8]) -> Option<&'static encoding_rs::Encoding> {
    let head = bytes.get(..bytes.len().min(4096))?;
    let head = String::from_utf8_lossy(head);
    let (_, rest) = head.split_once("#JSGF")?;
    let (line, _) = rest.split_once(';')?;
    let label = line.split_whitespace().nth(1)?;
    // Java's spelling of the ISO names, which the note uses in its examples.
    let label = label.replace("ISO8859-", "ISO-8859-");
    encoding_rs::Encoding::for_label(label.as_bytes())
}
