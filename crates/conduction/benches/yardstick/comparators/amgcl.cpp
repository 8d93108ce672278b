// Solves a sparse system from a file with AMGCL: conjugate gradients with Ruge-Stueben coarsening and Gauss-Seidel, on one thread.
// The file: rows and entries as 64-bit integers; row starts and columns as 32-bit; values and right side as doubles.
// Prints iterations, CPU seconds of set-up and solve, true relative residual, and peak bytes for each row.
#include <boost/range.hpp>
#include <amgcl/adapter/crs_tuple.hpp>
#include <amgcl/amg.hpp>
#include <amgcl/backend/builtin.hpp>
#include <amgcl/coarsening/ruge_stuben.hpp>
#include <amgcl/make_solver.hpp>
#include <amgcl/relaxation/gauss_seidel.hpp>
#include <amgcl/solver/cg.hpp>
#include <boost/tuple/tuple.hpp>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <ctime>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

static double cpu_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

// A line of the process's own memory account, bytes.
static double memory(const std::string &name) {
    std::ifstream file("/proc/self/status");
    std::string line;
    while (std::getline(file, line)) {
        if (line.rfind(name, 0) == 0) return 1024.0 * std::stod(line.substr(name.size() + 1));
    }
    return 0.0;
}

template <class T> static void read(std::ifstream &file, std::vector<T> &values) {
    file.read(reinterpret_cast<char *>(values.data()), static_cast<std::streamsize>(values.size() * sizeof(T)));
}

int main(int count, char **arguments) {
    if (count < 2) return 2;
    std::ifstream file(arguments[1], std::ios::binary);
    std::vector<std::int64_t> sizes(2);
    read(file, sizes);
    const std::size_t rows = static_cast<std::size_t>(sizes[0]), entries = static_cast<std::size_t>(sizes[1]);
    std::vector<int> starts(rows + 1), columns(entries);
    std::vector<double> values(entries), right(rows), found(rows, 0.0);
    read(file, starts);
    read(file, columns);
    read(file, values);
    read(file, right);
    if (!file) return 2;
    const double before = memory("VmRSS:");
    typedef amgcl::backend::builtin<double> Backend;
    typedef amgcl::make_solver<amgcl::amg<Backend, amgcl::coarsening::ruge_stuben, amgcl::relaxation::gauss_seidel>, amgcl::solver::cg<Backend>> Solver;
    Solver::params parameters;
    parameters.solver.tol = 1e-8;
    parameters.solver.maxiter = 2000;
    const double begin = cpu_seconds();
    Solver solver(boost::make_tuple(rows, starts, columns, values), parameters);
    const double ready = cpu_seconds();
    std::size_t iterations;
    double reported;
    boost::tie(iterations, reported) = solver(right, found);
    const double end = cpu_seconds();
    double residual = 0.0, norm = 0.0;
    for (std::size_t row = 0; row < rows; ++row) {
        double sum = right[row];
        for (int at = starts[row]; at < starts[row + 1]; ++at) sum -= values[at] * found[columns[at]];
        residual += sum * sum;
        norm += right[row] * right[row];
    }
    std::printf("%zu %.4f %.4f %.3e %.0f\n", iterations, ready - begin, end - ready, std::sqrt(residual / norm),
                (memory("VmHWM:") - before) / static_cast<double>(rows));
    return 0;
}
