#pragma once
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/input/input_error.hpp"
#include "engine/job/event.hpp"

namespace wheeltapper::job {

/// What stands where something was taken out.
inline constexpr std::string_view kTakenOut = "[taken out]";

/// A person to take out, known by a fingerprint of the name: it can't be read from that, but it is found again in
/// whatever an older copy brings. (Who guesses the name can confirm the guess.)
class Person {
 public:
  /// \param name  at least one word
  /// \param salt  a UUID, new for each redaction
  /// \throws input::InputError  for a name without a word
  Person(std::string_view name, const std::string& salt);
  /// From a `redacted` event; nothing if it holds no fingerprint.
  static std::optional<Person> of(const Event& redacted);

  /// The body of the `redacted` event.
  nlohmann::json body() const;
  /// True if the name stands in the text as whole words, one after the other, whatever parts them, and however they are
  /// written: capitals, composed or decomposed letters and compatibility forms are alike (NFKC_Casefold of Unicode);
  /// "Al" is not in "metal", and "José" is not in "Jose". (Fingerprints of older logs know ASCII capitals alone.)
  bool in(std::string_view text) const;
  /// True for a word that no text does without ("the", "no", "motor"): it is no person's name.
  bool is_common_word() const;
  const std::string& salt() const noexcept { return salt_; }
  /// What stands for a text that was taken out where it must still be told from others: by the person's salt.
  std::string stand_in(const std::string& text) const;
  friend bool operator==(const Person&, const Person&) = default;

 private:
  Person() = default;
  std::string salt_, print_;
  std::size_t words_ = 0;
  bool folded_ = true;  ///< the fingerprint is of words folded by Unicode
};

/// The event without the person: where the name stands in words that somebody wrote (titles, complaints, notes, names,
/// who wrote it, comments and marks of a series), kTakenOut stands; a locomotive gets another name, the same for the
/// same name and the same redaction; of an event that names the person as owner all is taken out. Ids and readings
/// stay. The event itself if there is nothing to take out.
Event without(const Event& event, const Person& person);

}  // namespace wheeltapper::job
