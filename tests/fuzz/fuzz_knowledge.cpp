// Any bytes load or raise BadInput, by themselves and laid over the shipped knowledge; what loads comes back the same
// from its packed form.
#include <cstdint>
#include <cstdlib>

#include "engine/catalogue/load.hpp"
#include "engine/catalogue/pack.hpp"
#include "knowledge/shipped.hpp"
#include "tests/fuzz/targets.hpp"

namespace {

using namespace wheeltapper;

template <typename Load>
void try_it(Load&& load) {
  try {
    const auto catalogue = load();
    const std::string once = catalogue::pack(catalogue->items());
    if (catalogue::pack(catalogue::unpack(once)) != once) std::abort();
  } catch (const input::BadInput& bad) {
    if (bad.problems().empty()) std::abort();
  }
}

}  // namespace

int fuzz_knowledge(const std::uint8_t* data, std::size_t size) {
  const std::vector<input::TextFile> sources{{"fuzz.json", std::string(reinterpret_cast<const char*>(data), size)}};
  try_it([&] { return catalogue::load(sources); });
  try_it([&] { return catalogue::load_over(knowledge::shipped_items(), sources); });
  return 0;
}
