//! Reads a network's file but leaves its large matrices of eight-bit numbers where they lie.
//!
//! Where the training program put `MatMul(x, Mul(Cast(matrix), steps))`, the network read here
//! has one [`EightBit`].

use std::collections::{HashMap, HashSet};

use memchr::memmem::find;
use tract_onnx::data_resolver::MmapDataResolver;
use tract_onnx::pb::{GraphProto, NodeProto, TensorProto};
use tract_onnx::tensor::load_tensor;
use tract_onnx::tract_hir::internal::*;

use super::eight_bit::EightBit;

/// The network in `file`, with an [`EightBit`] for every matrix that allows one.
///
/// # Errors
/// What in the file cannot be read.
pub(super) fn read(file: &'static [u8]) -> TractResult<InferenceModel> {
    let onnx = tract_onnx::onnx();
    let mut proto = onnx.proto_model_for_read(&mut &*file)?;
    let graph = proto.graph.as_mut().context("no network in the file")?;
    let products = products(graph, file)?;
    let mut model = onnx.model_for_proto_model(&proto)?;
    for node in model.nodes_mut() {
        if let Some(product) = products.get(&node.name) {
            node.op = expand(product.clone());
        }
    }
    Ok(model)
}

/// Makes each product with such a matrix a node with one input, to be given its operation by
/// name, and takes out of the graph what fed it.
fn products(graph: &mut GraphProto, file: &'static [u8]) -> TractResult<HashMap<String, EightBit>> {
    let makers: HashMap<&str, &NodeProto> = (graph.node.iter())
        .filter_map(|node| Some((node.output.first()?.as_str(), node)))
        .collect();
    let tensors: HashMap<&str, &TensorProto> = (graph.initializer.iter())
        .map(|tensor| (tensor.name.as_str(), tensor))
        .collect();
    let maker = |node: &NodeProto, input: usize, kind: &str| {
        let maker = makers.get(node.input.get(input)?.as_str()).copied();
        maker.filter(|node| node.op_type == kind)
    };
    let tensor =
        |node: &NodeProto, input: usize| tensors.get(node.input.get(input)?.as_str()).copied();
    let mut found = HashMap::new();
    let mut gone = HashSet::new();
    let mut from = 0;
    for node in graph.node.iter().filter(|node| node.op_type == "MatMul") {
        let parts = maker(node, 1, "Mul").and_then(|mul| {
            let cast = maker(mul, 0, "Cast")?;
            Some((mul, cast, tensor(cast, 0)?, tensor(mul, 1)?))
        });
        let Some((mul, cast, matrix, steps)) = parts else {
            continue;
        };
        // The file is read as a whole, and the library keeps copies: which part of it was
        // copied is found again by what it holds.
        let rest = file.get(from..).unwrap_or_default();
        let at = from + find(rest, &matrix.raw_data).context("the matrices are in disorder")?;
        from = at + matrix.raw_data.len();
        let numbers = file.get(at..from).unwrap_or_default();
        let rows = usize::try_from(*matrix.dims.first().unwrap_or(&0))?;
        let steps_held = load_tensor(&MmapDataResolver, steps, None)?;
        let name = node.output.first().context("a product has no name")?;
        found.insert(name.clone(), EightBit::new(numbers, rows, steps_held)?);
        gone.extend([matrix.name.clone(), steps.name.clone()]);
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

#[cfg(test)]
mod tests {
    use tract_onnx::pb::tensor_proto::DataType;

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
