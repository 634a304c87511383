//! Reads a network's file but leaves its large matrices of eight-bit numbers where they lie.
//!
//! The file is the Open Neural Network Exchange's, a message of Protocol Buffers: fields, each
//! with a number, whose contents may be messages again. Where the training program put
//! `MatMul(x, Mul(Cast(matrix), steps))`, the network read here has one [`EightBit`].

use std::collections::HashMap;

use tract_onnx::data_resolver::MmapDataResolver;
use tract_onnx::pb::tensor_proto::DataType;
use tract_onnx::pb::{GraphProto, NodeProto, TensorProto};
use tract_onnx::tensor::load_tensor;
use tract_onnx::tract_hir::internal::*;

use super::eight_bit::EightBit;

/// Numbers of the fields, from the published `onnx.proto`.
const GRAPH: u64 = 7;
const INITIALIZER: u64 = 5;
const DATA_TYPE: u64 = 2;
const NAME: u64 = 8;
const RAW_DATA: u64 = 9;

type Numbers = HashMap<String, &'static [u8]>;

/// The network in `file`, with an [`EightBit`] for every matrix that allows one.
///
/// # Errors
/// What in the file cannot be read.
pub(super) fn read(file: &'static [u8]) -> TractResult<InferenceModel> {
    let mut numbers = Numbers::new();
    let rest = without_numbers(file, &mut numbers)?;
    let onnx = tract_onnx::onnx();
    let mut proto = onnx.proto_model_for_read(&mut &*rest)?;
    let graph = proto.graph.as_mut().context("no network in the file")?;
    let products = products(graph, &numbers)?;
    for tensor in &mut graph.initializer {
        // Those of the convolutions, which are small.
        if let Some(numbers) = numbers.get(&tensor.name) {
            tensor.raw_data = numbers.to_vec();
        }
    }
    let mut model = onnx.model_for_proto_model(&proto)?;
    for node in model.nodes_mut() {
        if let Some(product) = products.get(&node.name) {
            node.op = expand(product.clone());
        }
    }
    Ok(model)
}

/// Makes each product with a matrix that is held apart a node with one input, to be given
/// its operation by name, and takes out of the graph what fed it.
fn products(graph: &mut GraphProto, numbers: &Numbers) -> TractResult<HashMap<String, EightBit>> {
    let by_output: HashMap<&str, &NodeProto> = (graph.node.iter())
        .filter_map(|node| Some((node.output.first()?.as_str(), node)))
        .collect();
    let tensors: HashMap<&str, &TensorProto> = (graph.initializer.iter())
        .map(|tensor| (tensor.name.as_str(), tensor))
        .collect();
    let mut uses: HashMap<&str, usize> = HashMap::new();
    for name in graph.node.iter().flat_map(|node| &node.input) {
        *uses.entry(name).or_default() += 1;
    }
    // What makes this input, if it is of that kind and for nothing else.
    let maker = |node: &NodeProto, input: usize, kind: &str| -> Option<&NodeProto> {
        let name = node.input.get(input)?.as_str();
        let maker = *by_output.get(name)?;
        (maker.op_type == kind && uses.get(name) == Some(&1)).then_some(maker)
    };
    let mut found = HashMap::new();
    let mut gone = Vec::new();
    for node in graph.node.iter().filter(|node| node.op_type == "MatMul") {
        let Some(mul) = maker(node, 1, "Mul") else {
            continue;
        };
        let Some(cast) = maker(mul, 0, "Cast") else {
            continue;
        };
        let (Some(matrix), Some(steps)) = (cast.input.first(), mul.input.get(1)) else {
            continue;
        };
        let (Some(held), Some(tensor), Some(scale)) = (
            numbers.get(matrix),
            tensors.get(matrix.as_str()),
            tensors.get(steps.as_str()),
        ) else {
            continue;
        };
        let &[rows, columns] = tensor.dims.as_slice() else {
            continue;
        };
        let once = |name: &String| uses.get(name.as_str()) == Some(&1);
        if !once(matrix) || !once(steps) || scale.dims != [1, columns] {
            continue;
        }
        let scale = load_tensor(&MmapDataResolver, scale, None)?;
        let product = EightBit::new(held, usize::try_from(rows)?, scale)?;
        let output = node.output.first().context("a product has no name")?;
        found.insert(output.clone(), product);
        gone.extend([matrix, steps].map(Clone::clone));
        gone.extend([mul, cast].iter().flat_map(|node| node.output.clone()));
    }
    let stays = |name: Option<&String>| name.is_none_or(|name| !gone.contains(name));
    graph.node.retain(|node| stays(node.output.first()));
    graph.initializer.retain(|tensor| stays(Some(&tensor.name)));
    for node in &mut graph.node {
        if let Some(name) = node.output.first().filter(|name| found.contains_key(*name)) {
            node.name.clone_from(name);
            node.input.truncate(1);
        }
    }
    Ok(found)
}

/// The file less the eight-bit numbers in it, which go to `numbers` by their names.
fn without_numbers(file: &'static [u8], numbers: &mut Numbers) -> TractResult<Vec<u8>> {
    let mut rest = Vec::new();
    for field in fields(file) {
        let field = field?;
        if field.number != GRAPH {
            rest.extend_from_slice(field.whole);
            continue;
        }
        let mut graph = Vec::new();
        for field in fields(field.content) {
            let field = field?;
            if field.number == INITIALIZER {
                put(&mut graph, INITIALIZER, &tensor(field.content, numbers)?);
            } else {
                graph.extend_from_slice(field.whole);
            }
        }
        put(&mut rest, GRAPH, &graph);
    }
    Ok(rest)
}

fn tensor(message: &'static [u8], numbers: &mut Numbers) -> TractResult<Vec<u8>> {
    let fields: Vec<Field> = fields(message).collect::<TractResult<_>>()?;
    let of = |number| fields.iter().find(|field| field.number == number);
    let eight_bit = of(DATA_TYPE).is_some_and(|kind| kind.content == [DataType::Int8 as u8]);
    let (Some(name), Some(raw), true) = (of(NAME), of(RAW_DATA), eight_bit) else {
        return Ok(message.to_vec());
    };
    numbers.insert(std::str::from_utf8(name.content)?.to_owned(), raw.content);
    let others = fields.iter().filter(|field| field.number != RAW_DATA);
    Ok(others.flat_map(|field| field.whole).copied().collect())
}

struct Field {
    number: u64,
    /// With the number and, where it has one, the length.
    whole: &'static [u8],
    content: &'static [u8],
}

/// The fields of a message, up to the first that is damaged.
fn fields(mut message: &'static [u8]) -> impl Iterator<Item = TractResult<Field>> {
    std::iter::from_fn(move || {
        if message.is_empty() {
            return None;
        }
        let field = field(message);
        let length = field.as_ref().map_or(message.len(), |f| f.whole.len());
        message = message.get(length..).unwrap_or_default();
        Some(field.context("the file is damaged"))
    })
}

fn field(message: &'static [u8]) -> Option<Field> {
    let (key, rest) = varint(message)?;
    let (rest, length) = match key & 7 {
        0 => (rest, rest.len() - varint(rest)?.1.len()),
        1 => (rest, 8),
        2 => {
            let (length, rest) = varint(rest)?;
            (rest, usize::try_from(length).ok()?)
        }
        5 => (rest, 4),
        _ => return None,
    };
    let content = rest.get(..length)?;
    let whole = message.get(..message.len() - rest.len() + length)?;
    Some(Field {
        number: key >> 3,
        whole,
        content,
    })
}

/// A number in groups of seven bits, lowest first, and what follows it.
fn varint(bytes: &[u8]) -> Option<(u64, &[u8])> {
    let mut value = 0;
    for (n, byte) in bytes.iter().enumerate().take(10) {
        value |= u64::from(byte & 0x7f) << (7 * n);
        if byte & 0x80 == 0 {
            return Some((value, bytes.get(n + 1..)?));
        }
    }
    None
}

/// A field whose content has a length.
fn put(message: &mut Vec<u8>, number: u64, content: &[u8]) {
    for mut value in [number << 3 | 2, content.len() as u64] {
        while value >= 0x80 {
            message.push(value as u8 | 0x80);
            value >>= 7;
        }
        message.push(value as u8);
    }
    message.extend_from_slice(content);
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONNX: &[u8] = include_bytes!("../../../models/second.onnx");

    /// One that is overlooked would answer just the same, only with more memory.
    #[test]
    fn every_matrix_stays_in_the_file() {
        let onnx = tract_onnx::onnx();
        let whole = onnx.proto_model_for_read(&mut &*ONNX).unwrap();
        let tensors = whole.graph.unwrap().initializer;
        let matrix = |t: &&TensorProto| t.data_type == DataType::Int8 as i32 && t.dims.len() == 2;
        let matrices = tensors.iter().filter(matrix).count();
        let model = read(ONNX).unwrap();
        let held = |node: &&InferenceNode| node.op.name() == "EightBit";
        assert!(matrices > 0);
        assert_eq!(model.nodes().iter().filter(held).count(), matrices);
    }

    #[test]
    fn what_is_cut_off_is_refused() {
        for length in [1, 2, 100, ONNX.len() / 2, ONNX.len() - 1] {
            assert!(read(&ONNX[..length]).is_err(), "{length}");
        }
        assert!(read(&[]).is_err());
    }
}
