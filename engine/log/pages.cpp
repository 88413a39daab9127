#include "engine/log/pages.hpp"

#include <algorithm>
#include <cstdint>
#include <map>
#include <optional>
#include <set>

namespace wheeltapper::log {
namespace {

std::uint32_t big_endian(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < count; ++i)
    value = value << 8U | (at + i < bytes.size() ? static_cast<unsigned char>(bytes[at + i]) : 0U);
  return value;
}

struct Varint {
  std::uint64_t value = 0;
  std::size_t bytes = 0;
};

/// Nothing where it runs over the end.
std::optional<Varint> varint(std::string_view bytes, std::size_t at) {
  constexpr std::size_t kMost = 9;
  Varint read;
  while (at + read.bytes < bytes.size()) {
    const auto byte = static_cast<unsigned char>(bytes[at + read.bytes]);
    ++read.bytes;
    if (read.bytes == kMost) {
      read.value = read.value << 8U | byte;
      return read;
    }
    read.value = read.value << 7U | (byte & 0x7FU);
    if ((byte & 0x80U) == 0) return read;
  }
  return std::nullopt;
}

/// The file as numbered pages, from 1, with the newer pages of the write-ahead log over them.
class Pages {
 public:
  Pages(std::string_view file, std::string_view wal) : file_(file) {
    const std::uint32_t told = big_endian(file, 16, 2);
    size_ = told == 1 ? 65536 : told;
    const bool fits = size_ >= 512 && size_ <= 65536 && (size_ & (size_ - 1)) == 0;
    if (!fits) size_ = 4096;
    constexpr std::size_t kHead = 32;
    constexpr std::size_t kFrameHead = 24;
    for (std::size_t at = kHead; at + kFrameHead + size_ <= wal.size(); at += kFrameHead + size_)
      if (wal.substr(at + 8, 8) == wal.substr(16, 8))
        newer_[big_endian(wal, at, 4)] = wal.substr(at + kFrameHead, size_);
  }

  /// The numbers of the pages that are there.
  std::set<std::size_t> numbers() const {
    std::set<std::size_t> all;
    for (std::size_t number = 1; (number - 1) * size_ < file_.size(); ++number) all.insert(number);
    for (const auto& [number, page] : newer_) all.insert(number);
    return all;
  }
  std::size_t size() const { return size_; }
  std::size_t bytes() const { return file_.size() + newer_.size() * size_; }

  std::string_view page(std::size_t number) const {
    const auto found = newer_.find(static_cast<std::uint32_t>(number));
    if (found != newer_.end()) return found->second;
    if (number == 0 || (number - 1) * size_ >= file_.size()) return {};
    return file_.substr((number - 1) * size_, size_);
  }

 private:
  std::string_view file_;
  std::size_t size_ = 4096;
  std::map<std::uint32_t, std::string_view> newer_;
};

/// A cell's payload, put together from its overflow pages.
std::optional<std::string> payload_at(const Pages& pages, std::string_view page, std::size_t at) {
  const auto length = varint(page, at);
  // No payload is longer than the file: a length that was damaged must not send us round in circles.
  if (!length || length->value == 0 || length->value > pages.bytes()) return std::nullopt;
  at += length->bytes;
  const std::uint64_t usable = pages.size();
  const std::uint64_t most = (usable - 12) * 64 / 255 - 23;
  const std::uint64_t least = (usable - 12) * 32 / 255 - 23;
  std::uint64_t local = length->value;
  if (local > most) {
    local = least + (length->value - least) % (usable - 4);
    if (local > most) local = least;
  }
  if (at + local > page.size()) return std::nullopt;
  std::string payload(page.substr(at, local));
  std::uint32_t next = local < length->value ? big_endian(page, at + local, 4) : 0;
  while (payload.size() < length->value) {
    const std::string_view more = pages.page(next);
    if (more.size() < 4) return std::nullopt;
    payload += more.substr(4, std::min<std::uint64_t>(usable - 4, length->value - payload.size()));
    next = big_endian(more, 0, 4);
  }
  return payload;
}

/// The columns of a record; nothing if it holds a kind of value that no entry has.
std::optional<std::vector<std::string>> columns_of(std::string_view record) {
  const auto head = varint(record, 0);
  if (!head || head->value > record.size()) return std::nullopt;
  std::vector<std::string> columns;
  std::size_t body = head->value;
  for (std::size_t at = head->bytes; at < head->value;) {
    const auto type = varint(record, at);
    if (!type) return std::nullopt;
    at += type->bytes;
    constexpr std::size_t kWidth[] = {0, 1, 2, 3, 4, 6, 8, 8, 0, 0};
    const std::uint64_t kind = type->value;
    if (kind == 7 || kind == 10 || kind == 11) return std::nullopt;  // a float, or reserved
    const std::uint64_t width = kind < 10 ? kWidth[kind] : (kind - 12) / 2;
    if (body + width > record.size()) return std::nullopt;
    if (kind >= 12) {
      columns.emplace_back(record.substr(body, width));
    } else if (kind == 0) {
      columns.emplace_back();
    } else {
      std::int64_t value = kind == 9 ? 1 : 0;
      for (std::size_t i = 0; i < width; ++i)
        value = (i == 0 ? static_cast<std::int64_t>(static_cast<signed char>(record[body]))
                        : value * 256 + static_cast<unsigned char>(record[body + i]));
      columns.push_back(std::to_string(value));
    }
    body += width;
  }
  return columns;
}

}  // namespace

void for_each_record(std::string_view file, std::string_view wal,
                     const std::function<void(const std::vector<std::string>&)>& use) {
  const Pages pages(file, wal);
  for (const std::size_t number : pages.numbers()) {
    const std::string_view page = pages.page(number);
    const std::size_t head = number == 1 ? 100 : 0;
    if (page.size() < head + 12) continue;
    const auto type = static_cast<unsigned char>(page[head]);
    if (type != 0x0A && type != 0x02) continue;
    const bool leaf = type == 0x0A;
    const std::uint32_t cells = big_endian(page, head + 3, 2);
    for (std::uint32_t cell = 0; cell < cells; ++cell) {
      const std::size_t pointer = head + (leaf ? 8 : 12) + 2 * cell;
      if (pointer + 2 > page.size()) break;
      const std::size_t at = big_endian(page, pointer, 2) + (leaf ? 0U : 4U);
      const auto payload = at < page.size() ? payload_at(pages, page, at) : std::nullopt;
      const auto columns = payload ? columns_of(*payload) : std::nullopt;
      if (columns) use(*columns);
    }
  }
}

}  // namespace wheeltapper::log
