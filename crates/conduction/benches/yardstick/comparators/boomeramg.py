#!/usr/bin/python3
"""Solves a sparse system from a file with conjugate gradients and BoomerAMG (hypre) through PETSc, on one process.

The file is the one amgcl.cpp reads; so is what is printed.
"""
import glob
import sys
import time

# Where Debian keeps the module, beside the library it was built for.
sys.path += glob.glob("/usr/lib/petscdir/petsc*/*-real/lib/python3/dist-packages")

import petsc4py  # noqa: E402

petsc4py.init(
    [
        "x",
        "-pc_hypre_boomeramg_coarsen_type", "HMIS",
        "-pc_hypre_boomeramg_interp_type", "ext+i",
        "-pc_hypre_boomeramg_P_max", "4",
    ]
)
import numpy as np  # noqa: E402
from petsc4py import PETSc  # noqa: E402


def memory(name):
    """A line of the process's own memory account, bytes."""
    for line in open("/proc/self/status"):
        if line.startswith(name):
            return 1024.0 * float(line.split()[1])
    return 0.0


with open(sys.argv[1], "rb") as file:
    rows, entries = np.fromfile(file, np.int64, 2)
    starts = np.fromfile(file, np.int32, rows + 1)
    columns = np.fromfile(file, np.int32, entries)
    values = np.fromfile(file, np.float64, entries)
    right = np.fromfile(file, np.float64, rows)
matrix = PETSc.Mat().createAIJ(size=(rows, rows), csr=(starts, columns, values))
b = PETSc.Vec().createWithArray(right)
x = b.duplicate()
x.set(0.0)
before = memory("VmRSS")
begin = time.process_time()
solver = PETSc.KSP().create()
solver.setOperators(matrix)
solver.setType("cg")
solver.setNormType(PETSc.KSP.NormType.UNPRECONDITIONED)
solver.setTolerances(rtol=1e-8, max_it=2000)
solver.getPC().setType("hypre")
solver.getPC().setHYPREType("boomeramg")
solver.setFromOptions()
solver.setUp()
ready = time.process_time()
solver.solve(b, x)
end = time.process_time()
residual = (b - matrix * x).norm() / b.norm()
print(solver.getIterationNumber(), f"{ready - begin:.4f} {end - ready:.4f} {residual:.3e} {(memory('VmHWM') - before) / rows:.0f}")
