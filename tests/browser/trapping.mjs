// A wasm that fails: the real one with an exported function wrapped, by the optimiser's own library, in one that counts and
// then executes `unreachable`.
import binaryen from "binaryen";

/** The module with an export that traps the `fatal`th time it is called. */
export function trapAt(bytes, name, fatal) {
  const module = binaryen.readBinary(bytes);
  // what the core is compiled with, and no proposal that browsers may not have yet
  const { MutableGlobals, NontrappingFPToInt, SignExt, BulkMemory, BulkMemoryOpt, ReferenceTypes, Multivalue } = binaryen.Features;
  module.setFeatures(MutableGlobals | NontrappingFPToInt | SignExt | BulkMemory | BulkMemoryOpt | ReferenceTypes | Multivalue);
  const inner = binaryen.getExportInfo(module.getExport(name)).value;
  const { params, results } = binaryen.getFunctionInfo(module.getFunction(inner));
  const { i32 } = binaryen;
  module.addGlobal("calls", i32, true, module.i32.const(0));
  const handedOn = binaryen.expandType(params).map((type, index) => module.local.get(index, type));
  module.addFunction(
    "counted",
    params,
    results,
    [],
    module.block(
      null,
      [
        module.global.set("calls", module.i32.add(module.global.get("calls", i32), module.i32.const(1))),
        module.if(module.i32.eq(module.global.get("calls", i32), module.i32.const(fatal)), module.unreachable()),
        module.call(inner, handedOn, results),
      ],
      results,
    ),
  );
  module.removeExport(name);
  module.addFunctionExport("counted", name);
  const trapped = module.emitBinary();
  module.dispose();
  return Buffer.from(trapped);
}
