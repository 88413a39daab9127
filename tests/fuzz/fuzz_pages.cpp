// Any bytes are a damaged SQLite file: what looks like records is handed out, nothing else is touched.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "engine/log/pages.hpp"
#include "tests/fuzz/targets.hpp"

int fuzz_pages(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const std::size_t middle = size / 2;
  std::size_t columns = 0;
  wheeltapper::log::for_each_record(bytes.substr(0, middle), bytes.substr(middle),
                                    [&](const auto& record) { columns += record.size(); });
  if (columns > size * size) std::abort();
  return 0;
}
