#pragma once
#include <stdexcept>
#include <string>

namespace wheeltapper::input {

/// What a person typed, or a line from elsewhere, can't be taken. Mistakes of our own are assertions, or
/// std::logic_error where they must be seen in every build; nothing catches those.
class InputError : public std::runtime_error {
 public:
  /// \param wrong    a predicate for what was typed: "has no unit"
  /// \param allowed  what may stand there; may be empty
  /// \param place    the word, key or option that it is about; empty where the caller knows
  explicit InputError(std::string wrong, std::string allowed = {}, std::string place = {})
      : std::runtime_error(wrong), allowed_(std::move(allowed)), place_(std::move(place)) {}
  const std::string& allowed() const noexcept { return allowed_; }
  const std::string& place() const noexcept { return place_; }

 private:
  std::string allowed_, place_;
};

/// Numbers for which what was asked has no answer: ohms below 0, fewer readings than the sum needs.
class DomainError : public InputError {
 public:
  using InputError::InputError;
};

/// \throws DomainError(wrong)  unless it holds
inline void demand(bool holds, const char* wrong) {
  if (!holds) throw DomainError(wrong);
}

}  // namespace wheeltapper::input
