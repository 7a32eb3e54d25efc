"""Write the trained network as files narrate reads: encoder.onnx (int8), heads.npz, vocab.txt, encoder.json."""

import json
import shutil
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import torch
from encoder_net import WIDE, Exported, Network
from onnx import TensorProto
from onnxruntime.quantization import QuantType, quantize_dynamic
from onnxruntime.transformers.optimizer import optimize_model


def export(network: Network, base: Path, out: Path, about: dict[str, Any]) -> None:
    """The encoder as int8 ONNX; the small networks on top as plain arrays, which numpy multiplies."""
    out.mkdir(parents=True, exist_ok=True)
    ids = torch.randint(5, 1000, (1, 40))
    with tempfile.TemporaryDirectory() as folder:
        whole = Path(folder) / "whole.onnx"
        torch.onnx.export(
            Exported(network),
            (ids, torch.ones_like(ids)),
            str(whole),
            input_names=["ids", "mask"],
            output_names=["vectors", "tags"],
            dynamic_axes={name: {1: "pieces"} for name in ("ids", "mask", "vectors", "tags")},
            opset_version=17,
            dynamo=False,
        )
        fused = optimize_model(str(whole), model_type="bert", num_heads=12, hidden_size=WIDE)
        fused.save_model_to_file(str(whole))
        quantize_dynamic(
            str(whole), str(out / "encoder.onnx"), weight_type=QuantType.QInt8, per_channel=True, reduce_range=True,
            op_types_to_quantize=["MatMul", "Gather", "Attention", "EmbedLayerNormalization"],
            extra_options={"DefaultTensorType": TensorProto.FLOAT},
        )  # fmt: skip
    heads = {
        name: value.numpy().astype(np.float16)
        for name, value in network.state_dict().items()
        if name.split(".")[0] in ("condition", "action", "link", "same", "status")
    }
    np.savez(out / "heads.npz", **heads)
    shutil.copyfile(base / "vocab.txt", out / "vocab.txt")
    (out / "encoder.json").write_text(json.dumps(about, indent=1) + "\n", "utf-8")
