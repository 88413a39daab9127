// The whole command, cold: start, load, read the case, infer, plan, print.
#include <benchmark/benchmark.h>

#include <cstdlib>
#include <string>

namespace {

void BM_DiagnoseCommand(benchmark::State& state) {
  const std::string command = std::string(WHEELTAPPER_PROGRAM) + " diagnose " WHEELTAPPER_SOURCE_DIR
                                                                 "/cases/demo/dry-bearings.json > /dev/null";
  for (auto _ : state)
    if (std::system(command.c_str()) != 0) state.SkipWithError("the command failed");
}
BENCHMARK(BM_DiagnoseCommand)->Unit(benchmark::kMillisecond)->UseRealTime();

void BM_StartOnly(benchmark::State& state) {
  const std::string command = std::string(WHEELTAPPER_PROGRAM) + " --version > /dev/null";
  for (auto _ : state)
    if (std::system(command.c_str()) != 0) state.SkipWithError("the command failed");
}
BENCHMARK(BM_StartOnly)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
