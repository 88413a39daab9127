#include "engine/job/hazards.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <optional>

namespace wheeltapper::job {
namespace {

using catalogue::Catalogue;
using catalogue::Rule;

bool has(const std::vector<std::string>& list, const std::string& id) {
  return std::ranges::find(list, id) != list.end();
}

/// That a finding was said or shown to be there, or not to be.
struct Sighting {
  std::size_t order;
  std::size_t stage;
  const Reported* reported = nullptr;
  std::string form = {};  // of its event, where that came in more than one: only who saw this one can end it
};

/// A check that was done.
struct Look {
  std::size_t order;
  std::size_t stage;
  std::string check;
  bool clean = false, bad = false;
};

class Reading {
 public:
  Reading(const Job& job, std::size_t stage, const Catalogue& catalogue)
      : job_(job), stage_(stage), catalogue_(catalogue) {
    for (const Job::Checked& done : job.checks) {
      const auto* check = catalogue.check(done.check);
      if (check == nullptr || done.stage > stage) continue;
      Look look{done.order, done.stage, done.check, true, false};
      for (const auto& result : check->results) {
        const auto seen = done.seen.find(result.id);
        look.clean = look.clean && seen != done.seen.end() && !seen->second;
        look.bad = look.bad || (seen != done.seen.end() && seen->second);
      }
      looks_.push_back(std::move(look));
    }
  }

  Hazards read() {
    Hazards hazards;
    for (const Rule& rule : catalogue_.items().rules)
      for (const std::string& id : rule.any)
        if (const auto last = active(id)) hazards.active.emplace(id, *last);
    for (const Rule& rule : catalogue_.items().rules) read_rule(rule, hazards);
    return hazards;
  }

 private:
  bool saw(std::size_t later, std::size_t earlier) const { return job_.saw(later, earlier); }

  std::string form_if_several(std::size_t order) const {
    const Event& event = job_.events[order];
    return job_.second_forms.contains(event.id) ? form_of(event) : std::string();
  }

  std::vector<Sighting> all(const std::string& finding, bool there) const {
    std::vector<Sighting> found;
    if (const auto words = job_.answers.find(finding); words != job_.answers.end())
      for (const Reported& reported : words->second)
        if (reported.stage <= stage_ && !cases::is_not_observed(reported.word) && (reported.word != "no") == there)
          found.push_back({reported.order, reported.stage, &reported, form_if_several(reported.order)});
    for (const Job::Checked& done : job_.checks) {
      const auto* check = catalogue_.check(done.check);
      if (check == nullptr || done.stage > stage_) continue;
      for (const auto& result : check->results)
        if (const auto seen = done.seen.find(result.id);
            result.finding == finding && seen != done.seen.end() && seen->second == there)
          if (there || may_end(done.check, finding))
            found.push_back({done.order, done.stage, nullptr, form_if_several(done.order)});
    }
    if (there) add_second_forms(finding, found);
    return found;
  }

  /// A look ends a hazard where each rule on it waits for that check; any other, however well meant, ends nothing.
  bool may_end(const std::string& check, const std::string& finding) const {
    return std::ranges::all_of(catalogue_.items().rules, [&](const Rule& rule) {
      return !has(rule.any, finding) || has(rule.until, check) || has(rule.hold, check);
    });
  }

  /// A yes in any form of an entry counts, whichever form the job goes by.
  void add_second_forms(const std::string& finding, std::vector<Sighting>& found) const {
    for (std::size_t order = 0; order < job_.events.size(); ++order) {
      const auto forms = job_.second_forms.find(job_.events[order].id);
      if (forms == job_.second_forms.end()) continue;
      for (const Event& form : forms->second)
        if (says_yes(form, finding)) found.push_back({order, 0, nullptr, form_of(form)});
    }
  }

  bool says_yes(const Event& form, const std::string& finding) const {
    if (form.kind == EventKind::answers) {
      const auto word = form.body.find(finding);
      return word != form.body.end() && *word != "no" &&
             !(word->is_string() && cases::is_not_observed(word->get<std::string>()));
    }
    const auto id = form.body.find("check");
    if (form.kind != EventKind::checked || id == form.body.end() || !id->is_string()) return false;
    const auto* check = catalogue_.check(id->get<std::string>());
    const auto results = form.body.find("results");
    if (check == nullptr || results == form.body.end() || !results->is_object()) return false;
    return std::ranges::any_of(check->results, [&](const catalogue::Result& result) {
      return result.finding == finding && results->value(result.id, std::string()) == "seen";
    });
  }

  bool ends(const Sighting& no, const Sighting& yes) const {
    if (!saw(no.order, yes.order)) return false;
    const auto& seen = job_.events[no.order].seen;
    // An entry of an old log does not say what it had seen: for sure only what was written at its own bench.
    const Event& yes_event = job_.events[yes.order];
    if (!seen && (yes_event.seen || job_.events[no.order].writer != yes_event.writer)) return false;
    return yes.form.empty() || (seen && has(seen->forms, yes.form));
  }

  std::optional<ActiveHazard> active(const std::string& finding) const {
    const auto nos = all(finding, false);
    std::optional<ActiveHazard> last;
    for (const Sighting& yes : all(finding, true)) {
      if (std::ranges::any_of(nos, [&](const Sighting& no) { return ends(no, yes); })) continue;
      if (!last || yes.order >= last->order) last = ActiveHazard{yes.stage, yes.order, yes.reported};
    }
    return last;
  }

  /// A no that comes after a yes and does not end it, in words.
  std::string unseen_no(const std::string& finding) const {
    const auto nos = all(finding, false);
    for (const Sighting& yes : all(finding, true))
      for (const Sighting& no : nos)
        if (no.order > yes.order && !ends(no, yes))
          return fmt::format(": the no from \"{}\" was written without this yes before it; answer it anew",
                             job_.events[no.order].writer);
    return {};
  }

  void read_rule(const Rule& rule, Hazards& hazards) {
    std::vector<const Look*> bad;
    for (const Look& look : looks_)
      if (look.bad && (has(rule.until, look.check) || has(rule.hold, look.check))) bad.push_back(&look);
    const auto outstanding = [&](const Look& look) {
      return std::ranges::none_of(looks_, [&](const Look& again) {
        return again.clean && again.check == look.check && saw(again.order, look.order);
      });
    };
    std::string because;
    std::vector<std::size_t> yes;  // all that a clean check must have come after
    for (const std::string& id : rule.any) {
      const bool is_active = hazards.active.contains(id);
      const auto said = all(id, true);
      if (!is_active && (bad.empty() || said.empty())) continue;
      if (because.empty() || (is_active && !hazards.active.contains(because))) because = id;
      for (const Sighting& each : said) yes.push_back(each.order);
    }
    if (because.empty()) return;
    std::vector<std::string> left;
    for (const std::string& id : rule.until)
      if (!clean_after(id, yes, bad)) left.push_back(id);
    for (const Look* look : bad)
      if (outstanding(*look) && !has(left, look->check)) left.push_back(look->check);
    // While a fault found in this stage waits for its repair, what was clean before it still tells something.
    const bool repair_first =
        std::ranges::any_of(bad, [&](const Look* look) { return outstanding(*look) && look->stage == stage_; });
    if (!repair_first) hazards.redo.insert(left.begin(), left.end());
    hazards.state.fired.push_back({rule.id, because, std::move(left), unseen_no(because)});
  }

  /// True if a check came out clean after every yes, after every bad result, and after every repair that followed one.
  bool clean_after(const std::string& check, const std::vector<std::size_t>& yes,
                   const std::vector<const Look*>& bad) const {
    return std::ranges::any_of(looks_, [&](const Look& look) {
      if (!look.clean || look.check != check) return false;
      const auto after = [&](std::size_t order) { return saw(look.order, order); };
      if (!std::ranges::all_of(yes, after)) return false;
      return std::ranges::all_of(bad, [&](const Look* each) {
        if (!after(each->order)) return false;
        return std::ranges::all_of(job_.repairs, [&](const Job::Repaired& repair) {
          return !saw(repair.order, each->order) || after(repair.order);
        });
      });
    });
  }

  const Job& job_;
  std::size_t stage_;
  const Catalogue& catalogue_;
  std::vector<Look> looks_;
};

/// The words of a text in small letters, each with one space before and behind it; what is no letter parts them, except
/// an apostrophe, which drops out ("won't").
std::string spaced(std::string_view text) {
  std::string words = " ";
  for (std::size_t at = 0; at < text.size(); ++at) {
    const char c = text[at];
    constexpr std::string_view kCurly = "\xE2\x80\x99";  // the apostrophe that telephones type
    if (text.substr(at, kCurly.size()) == kCurly) {
      at += kCurly.size() - 1;
      continue;
    }
    const char small = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if (small >= 'a' && small <= 'z')
      words += small;
    else if (c != '\'' && words.back() != ' ')
      words += ' ';
  }
  if (words.back() != ' ') words += ' ';
  return words;
}

/// The most volts that a text names: "230 V", "115volts"; 0 if it names none.
double volts_in(std::string_view text) {
  const auto is_letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
  double most = 0;
  for (std::size_t at = 0; at < text.size();) {
    double value = 0;
    const char* const from = text.data() + at;
    const auto [end, wrong] = std::from_chars(from, text.data() + text.size(), value, std::chars_format::fixed);
    if (wrong == std::errc::invalid_argument || text[at] == '-') {
      ++at;
      continue;
    }
    if (wrong == std::errc::result_out_of_range) value = 1e300;
    at = static_cast<std::size_t>(end - text.data());
    std::size_t unit = at;
    while (unit < text.size() && text[unit] == ' ') ++unit;
    std::string word;
    for (std::size_t i = unit; i < text.size() && is_letter(text[i]) && word.size() < 8; ++i)
      word += static_cast<char>(text[i] | 0x20);
    if (word == "v" || word == "volt" || word == "volts" || word == "vac" || word == "vdc")
      most = std::max(most, value);
  }
  return most;
}

/// A hazard that hangs on volts, and a text that names as many.
bool names_its_volts(const catalogue::Finding& finding, double volts) {
  return finding.reading && finding.reading->reading == "highest-volts" && volts >= finding.reading->edges.front();
}

}  // namespace

Hazards hazards_of(const Job& job, std::size_t stage, const Catalogue& catalogue) {
  return Reading(job, stage, catalogue).read();
}

bool is_hazard(const Catalogue& catalogue, const std::string& finding) {
  return std::ranges::any_of(catalogue.items().rules, [&](const Rule& rule) { return has(rule.any, finding); });
}

std::vector<const catalogue::Finding*> hazards_in(const Catalogue& catalogue, const std::string& family) {
  std::vector<const catalogue::Finding*> all;
  for (const Rule& rule : catalogue.items().rules)
    for (const std::string& id : rule.any) {
      const auto* finding = catalogue.finding(id);
      if (has(finding->families, family) && std::ranges::find(all, finding) == all.end()) all.push_back(finding);
    }
  return all;
}

std::vector<const catalogue::Finding*> hazards_heard(const Catalogue& catalogue, const std::string& family,
                                                     std::string_view text) {
  const std::string words = spaced(text);
  std::vector<const catalogue::Finding*> heard;
  const double volts = volts_in(text);
  for (const auto* finding : hazards_in(catalogue, family))
    if (names_its_volts(*finding, volts) || std::ranges::any_of(finding->words, [&](const std::string& each) {
          return words.find(" " + each + " ") != std::string::npos;
        }))
      heard.push_back(finding);
  return heard;
}

}  // namespace wheeltapper::job
