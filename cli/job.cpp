#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "cli/actions.hpp"
#include "cli/case_command.hpp"
#include "cli/family.hpp"
#include "cli/output.hpp"
#include "engine/belief/trellis.hpp"
#include "engine/files/files.hpp"
#include "engine/guide/hearing.hpp"
#include "engine/guide/replies.hpp"
#include "engine/guide/typed_reading.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"
#include "engine/job/hazards.hpp"
#include "engine/job/job_case.hpp"
#include "engine/report/guide_json.hpp"
#include "engine/report/guide_page.hpp"
#include "engine/report/record.hpp"

namespace wheeltapper::cli {
namespace {

namespace po = boost::program_options;
using job::Draft;
using job::EventKind;
using nlohmann::json;
using Words = std::vector<std::string>;

/// What every action of `job` works with.
struct Bench {
  const Parsed& parsed;
  const Io& io;
  report::Style style;
  std::shared_ptr<const catalogue::Catalogue> catalogue;
  std::unique_ptr<log::Log> log;
  app::Desk desk;
  Words words;                 // behind the action's name
  std::vector<Draft> opening;  // of a new job

  std::string job_word() const { return words.empty() ? "open" : words.front(); }
};

bool wants_json(const Bench& bench) { return bench.parsed.values["json"].as<bool>(); }

/// What a line or an entry came to; a UsageError with the reason if it was not taken.
app::Screen taken(app::Screen screen) {
  using app::Heard;
  if (screen.heard == Heard::impossible) throw belief::ImpossibleEvidence(screen.refused);
  if (!screen.problems.empty()) throw input::BadInput(screen.problems);
  if (screen.heard != Heard::refused) return screen;
  const std::string id = report::short_id(screen.job);
  throw UsageError(screen.closed()
                       ? fmt::format("{} `wheeltapper job reopen {}` opens it again. Is something dangerous? "
                                     "wheeltapper job hazard {}",
                                     screen.refused, id, id)
                       : screen.refused);
}

/// Takes a job up; nothing where it can't be read is written to it.
app::Screen take_up(Bench& bench, const std::string& word) { return bench.desk.take_up(find_job(*bench.log, word)); }

app::Screen enter(Bench& bench, const std::string& word, std::vector<Draft> drafts) {
  take_up(bench, word);
  return taken(bench.desk.enter(std::move(drafts)));
}

/// What stands now: for a program all of it, for a person the hazards, and what is asked where a hazard was heard.
void say_where(Bench& bench, const app::Screen& screen) {
  const guide::Position& at = *screen.at;
  if (wants_json(bench)) {
    bench.io.out << input::escaped_controls(report::position_json(at).dump(2)) << "\n";
    return;
  }
  if (at.prompt && at.prompt->topic.kind == job::Topic::Kind::heard)
    bench.io.out << report::prompt_text(at, *at.prompt, bench.style)
                 << fmt::format("Answer with: wheeltapper job say {} NUMBER (or none)\n", report::short_id(at.job.id));
  else
    bench.io.out << report::stop_text(at, bench.style);
}

/// What a new job begins with. Worked out before the log is opened: what can't be begun leaves no log behind.
std::vector<Draft> opening(const Parsed& parsed, const Io& io, const Words& words,
                           const catalogue::Catalogue& catalogue) {
  if (words.size() > 1) throw UsageError("give at most one case file");
  std::vector<Draft> drafts;
  if (words.empty()) {
    drafts.emplace_back(EventKind::opened,
                        json{{"title", "Repair job"}, {"locomotive", {{"family", family_of(parsed, io, catalogue)}}}});
  } else {
    if (parsed.values.count("family") > 0)
      throw UsageError("the case file says what kind of drive it is: leave --family out");
    drafts =
        job::opening_events(files::read_file(words.front()), words.front(), catalogue, files::beside(words.front()));
  }
  if (parsed.values.count("owner") > 0)
    drafts.emplace_back(EventKind::owner, json{{"name", parsed.values["owner"].as<std::string>()}});
  return drafts;
}

int action_new(Bench& bench) {
  const app::Screen first = bench.desk.open(std::move(bench.opening));
  if (bench.parsed.values["quiet"].as<bool>()) {
    bench.io.out << report::short_id(first.job) << "\n";
    for (const app::Stop& stop : first.stops)
      bench.io.err << "wheeltapper: STOP: " << stop.say << " (" << stop.because << ")\n";
    return kOk;
  }
  return guide(bench.desk, first, bench.io, bench.style);
}

int action_go(Bench& bench) { return guide(bench.desk, take_up(bench, bench.job_word()), bench.io, bench.style); }

int action_list(Bench& bench) {
  const auto lines = bench.log->jobs();
  if (bench.parsed.values["json"].as<bool>()) {
    auto list = nlohmann::ordered_json::array();
    for (const auto& line : lines)
      list.push_back({{"job", line.job},
                      {"locomotive", line.locomotive},
                      {"title", line.title},
                      {"opened", line.opened},
                      {"last", line.last},
                      {"events", line.events},
                      {"outcome", line.outcome ? json(*line.outcome) : json()}});
    bench.io.out << input::escaped_controls(list.dump(2)) << "\n";
    return kOk;
  }
  report::Page page(bench.style);
  if (lines.empty()) page.paragraph("The log has no job yet. Begin one: wheeltapper job new");
  for (const auto& line : lines) {
    const std::string state = line.outcome ? std::string(words(*job::outcome(*line.outcome))) : "open";
    page.ends(fmt::format("{}  {}  {}", report::short_id(line.job), line.last.substr(0, 10),
                          line.locomotive.empty() ? line.title : line.locomotive),
              state, 0, line.outcome ? report::Ink::plain : report::Ink::bold);
  }
  bench.io.out << page.text();
  return kOk;
}

/// Where it stands; nothing where the job can't be read, with the reason said.
std::optional<app::Screen> readable(Bench& bench, const std::string& id) {
  try {
    return bench.desk.take_up(id);
  } catch (const input::BadInput& wrong) {
    bench.io.err << "wheeltapper: the job can't be read as it is: " << wrong.problems().front().wrong
                 << "; `wheeltapper job undo` takes the last entry back\n";
  } catch (const belief::ImpossibleEvidence& wrong) {
    bench.io.err << "wheeltapper: " << wrong.what() << "; look over the answers\n";
  }
  return std::nullopt;
}

int action_show(Bench& bench) {
  const std::string id = find_job(*bench.log, bench.job_word());
  const auto screen = readable(bench, id);
  const guide::Position* at = screen ? screen->at.get() : nullptr;
  std::vector<job::Event> events = bench.log->events(id);
  std::erase_if(events, &job::Event::second);
  if (wants_json(bench)) {
    nlohmann::ordered_json out{{"wheeltapper", "job"}, {"version", 1}, {"job", id}, {"readable", at != nullptr}};
    out["stop"] = at ? report::stop_json(*at) : nlohmann::ordered_json::array();
    out["events"] = nlohmann::ordered_json::array();
    for (const job::Event& event : events) out["events"].push_back(nlohmann::ordered_json::parse(job::to_line(event)));
    bench.io.out << input::escaped_controls(out.dump(2)) << "\n";
    return kOk;
  }
  const auto counts = job::counting(events);
  report::Page page(bench.style);
  if (at) bench.io.out << report::stop_text(*at, bench.style) << report::standing_text(*at, bench.style);
  page.blank();
  std::size_t undone = 0;
  for (std::size_t i = 0; i < events.size(); ++i) {
    if (counts[i])
      page.labelled(fmt::format("{} {}", events[i].at.substr(0, 16), name(events[i].kind)), events[i].body.dump(), 2,
                    28);
    else
      ++undone;
  }
  if (undone > 0) page.paragraph(fmt::format("{} taken back.", undone), 2);
  bench.io.out << page.text();
  return kOk;
}

void print_prompt(Bench& bench, const app::Screen& screen) {
  const guide::Position& at = *screen.at;
  if (wants_json(bench))
    bench.io.out << input::escaped_controls(report::position_json(at).dump(2)) << "\n";
  else if (at.prompt)
    bench.io.out << report::prompt_text(at, *at.prompt, bench.style);
  else
    bench.io.out << report::standing_text(at, bench.style);
}

int action_next(Bench& bench) {
  print_prompt(bench, take_up(bench, bench.job_word()));
  return kOk;
}

std::string rest_of(const Words& words, std::size_t from) {
  std::string text;
  for (std::size_t i = from; i < words.size(); ++i) text += (text.empty() ? "" : " ") + words[i];
  return text;
}

void demand_words(const Bench& bench, std::size_t least, std::string_view what) {
  if (bench.words.size() < least) throw UsageError(fmt::format("give {}", what));
}

int action_say(Bench& bench) {
  demand_words(bench, 2, "a job and the answer to its next question");
  const std::string said = rest_of(bench.words, 1);
  take_up(bench, bench.words[0]);
  if (said == "back" || said == "close")
    throw UsageError(
        fmt::format("\"{}\" is for the guided job; here: wheeltapper job {}", said, said == "back" ? "undo" : "close"));
  const app::Screen screen = taken(bench.desk.say(said));
  if (screen.heard == app::Heard::left) {
    bench.io.out << "Nothing to do: the job waits for you.\n";
    return kOk;
  }
  if (screen.heard == app::Heard::wants_why && screen.prompt) {
    bench.io.out << report::why_text(*screen.at, *screen.prompt, bench.style);
    return kOk;
  }
  if (!wants_json(bench) && screen.before) bench.io.out << report::moved_text(*screen.before, *screen.at, bench.style);
  print_prompt(bench, screen);
  for (const std::string& doubt : report::closing_doubts(*screen.at)) bench.io.err << "wheeltapper: " << doubt << "\n";
  return kOk;
}

/// "id=word" pairs behind the job.
std::vector<std::pair<std::string, std::string>> pairs(const Bench& bench, std::size_t from,
                                                       std::string_view otherwise) {
  std::vector<std::pair<std::string, std::string>> all;
  for (std::size_t i = from; i < bench.words.size(); ++i) {
    const auto equals = bench.words[i].find('=');
    all.emplace_back(bench.words[i].substr(0, equals),
                     equals == std::string::npos ? std::string(otherwise) : bench.words[i].substr(equals + 1));
  }
  return all;
}

int action_answer(Bench& bench) {
  demand_words(bench, 2, "a job and findings, such as squeal or squeal=no");
  json answers = json::object();
  for (const auto& [id, word] : pairs(bench, 1, "yes")) {
    const auto* finding = bench.catalogue->finding(id);
    demand_id(id, "finding", finding, bench.catalogue->items().findings);
    if (!cases::is_not_observed(word)) {
      try {
        cases::level_of(*finding, word);
      } catch (const input::InputError& wrong) {
        throw UsageError(fmt::format("\"{}\": allowed after {}= are {}", word, id, wrong.allowed()));
      }
    }
    answers[id] = word;
  }
  say_where(bench, enter(bench, bench.words[0], {{EventKind::answers, answers}}));
  return kOk;
}

int action_known(Bench& bench) {
  demand_words(bench, 2, "a job and what is known, such as adj-just-oiled or adj-just-oiled=no");
  json known = json::object();
  for (const auto& [id, word] : pairs(bench, 1, "yes")) {
    demand_id(id, "context", bench.catalogue->context(id), bench.catalogue->items().contexts);
    if (word != "yes" && word != "no") throw UsageError(fmt::format("\"{}\": allowed are yes and no", word));
    known[id] = word == "yes";
  }
  say_where(bench, enter(bench, bench.words[0], {{EventKind::known, known}}));
  return kOk;
}

int action_read(Bench& bench) {
  demand_words(bench, 2, "a job and readings, such as amps=2.4A or lap-rate=\"5 laps 35.3 s\"");
  const guide::Position at = *take_up(bench, bench.words[0]).at;
  std::vector<Draft> drafts;
  for (const auto& [quantity, typed] : pairs(bench, 1, "")) {
    demand_id(quantity, "quantity", bench.catalogue->quantity(quantity), bench.catalogue->items().quantities);
    try {
      json body = guide::reading_body(*bench.catalogue, quantity, typed);
      body["kind"] = bench.parsed.values["run"].as<std::string>();
      body["direction"] = bench.parsed.values["direction"].as<std::string>();
      if (bench.parsed.values.count("cars") > 0) body["cars"] = bench.parsed.values["cars"].as<int>();
      const auto far = guide::far_from_limit(*bench.catalogue, at.the_case, body);
      if (far && !bench.parsed.values["sure-of-it"].as<bool>())
        throw UsageError(
            fmt::format("{}=\"{}\" is {}: has a unit or a point slipped? Put it right, or say --sure-of-it", quantity,
                        typed, *far));
      drafts.emplace_back(EventKind::reading, std::move(body));
    } catch (const input::InputError& wrong) {
      throw UsageError(fmt::format("{}=\"{}\" {}", quantity, typed, wrong.what()));
    }
  }
  say_where(bench, taken(bench.desk.enter(std::move(drafts))));
  return kOk;
}

json with_minutes(const Bench& bench, json body) {
  if (bench.parsed.values.count("minutes") > 0) {
    const double minutes = bench.parsed.values["minutes"].as<double>();
    if (!(minutes >= 0 && minutes <= 100000)) throw UsageError("--minutes must lie between 0 and 100000");
    body["minutes"] = minutes;
  }
  return body;
}

int action_check(Bench& bench) {
  demand_words(bench, 3, "a job, a check, and what it showed: ids of results, or none");
  const auto* check = bench.catalogue->check(bench.words[1]);
  demand_id(bench.words[1], "check", check, bench.catalogue->items().checks);
  json results = json::object();
  for (const auto& result : check->results) results[result.id] = "not seen";
  for (std::size_t i = 2; i < bench.words.size(); ++i) {
    if (bench.words[i] == "none" && bench.words.size() == 3) break;
    if (!results.contains(bench.words[i])) {
      std::string list;
      for (const auto& result : check->results) list += (list.empty() ? "" : ", ") + result.id;
      throw UsageError(fmt::format("{} has no result \"{}\"; it has {}", check->id, bench.words[i], list));
    }
    results[bench.words[i]] = "seen";
  }
  say_where(bench, enter(bench, bench.words[0],
                         {{EventKind::checked, with_minutes(bench, {{"check", check->id}, {"results", results}})}}));
  return kOk;
}

int action_repair(Bench& bench) {
  demand_words(bench, 2, "a job and the repair that was done");
  demand_id(bench.words[1], "repair", bench.catalogue->repair(bench.words[1]), bench.catalogue->items().repairs);
  say_where(bench,
            enter(bench, bench.words[0],
                  {{EventKind::repaired, with_minutes(bench, {{"repair", bench.words[1]}, {"by", "technician"}})}}));
  return kOk;
}

int action_retest(Bench& bench) {
  demand_words(bench, 2, "a job and passed or failed");
  if (bench.words[1] != "passed" && bench.words[1] != "failed") throw UsageError("a retest is passed or failed");
  say_where(bench, enter(bench, bench.words[0], {{EventKind::retested, {{"passed", bench.words[1] == "passed"}}}}));
  return kOk;
}

/// Nobody is to find a locomotive among the sound ones whose hazard nothing cleared.
void demand_no_hazard(const Bench& bench, const guide::Position& at, const std::string& outcome) {
  const bool sound = outcome == "cured" || outcome == "no-fault";
  if (!sound || bench.parsed.values["anyway"].as<bool>()) return;
  if (at.prompt && at.prompt->topic.kind == job::Topic::Kind::heard)
    throw UsageError(
        fmt::format("{} Answer that first with: wheeltapper job say; or say --anyway", at.prompt->question));
  for (const plan::Gate* gate : plan::speaking(at.diagnosis.advice.gates))
    throw UsageError(
        fmt::format("an active hazard was not cleared: {}. End it as referred, or say --anyway", gate->because));
}

int action_close(Bench& bench) {
  demand_words(bench, 2, "a job and how it ends: cured, not-cured, no-fault, referred or scrapped; then what it was");
  if (!job::outcome(bench.words[1]))
    throw UsageError(fmt::format("\"{}\" is not an outcome; allowed: cured, not-cured, no-fault, referred, scrapped",
                                 bench.words[1]));
  std::vector<std::string> causes;
  for (std::size_t i = 2; i < bench.words.size(); ++i) {
    demand_id(bench.words[i], "cause", bench.catalogue->cause(bench.words[i]), bench.catalogue->items().causes);
    causes.push_back(bench.words[i]);
  }
  demand_no_hazard(bench, *take_up(bench, bench.words[0]).at, bench.words[1]);
  const app::Screen screen = taken(bench.desk.close(*job::outcome(bench.words[1]), causes));
  for (const std::string& doubt : report::closing_doubts(*screen.at)) bench.io.err << "wheeltapper: " << doubt << "\n";
  return kOk;
}

/// Takes back without reading the job, so that it works for one that can't be read.
int action_undo(Bench& bench) {
  const std::string id = find_job(*bench.log, bench.job_word());
  if (const std::string why = bench.desk.take_back(id); !why.empty()) throw UsageError(why);
  if (const auto screen = readable(bench, id)) say_where(bench, *screen);
  return kOk;
}

int action_reopen(Bench& bench) {
  demand_words(bench, 1, "a job");
  const std::string id = find_job(*bench.log, bench.words[0]);
  if (!job::fold(bench.log->events(id)).closing) throw UsageError("the job is open");
  enter(bench, bench.words[0], {{EventKind::reopened, json::object()}});
  return kOk;
}

int action_record(Bench& bench) {
  if (wants_json(bench))
    throw UsageError("a record is text, or with --html a page; for programs: wheeltapper job show");
  const report::Record record = report::record_of(*take_up(bench, bench.job_word()).at);
  if (bench.parsed.values.count("html") == 0) {
    bench.io.out << report::record_text(record, bench.style);
    return kOk;
  }
  write_file(bench.parsed, bench.io, bench.parsed.values["html"].as<std::string>(), bench.log->path(),
             [&](std::ostream& out) { out << report::record_html(record); });
  return kOk;
}

/// What a job's head says: changed where it was wrong.
int action_tell(Bench& bench) {
  demand_words(bench, 2, "a job and what is so, such as locomotive=\"Fernhill No. 3\", title=, complaint= or owner=");
  std::vector<Draft> drafts;
  std::string said;
  for (const auto& [key, text] : pairs(bench, 1, "")) {
    if (text.empty()) throw UsageError(fmt::format("{} wants words behind =", key));
    if (key == "complaint") said = text;
    if (key == "locomotive")
      drafts.emplace_back(EventKind::told, json{{"locomotive", {{"name", text}}}});
    else if (key == "title" || key == "complaint")
      drafts.emplace_back(EventKind::told, json{{key, text}});
    else if (key == "owner")
      drafts.emplace_back(EventKind::owner, json{{"name", text}});
    else
      throw UsageError(fmt::format("\"{}\" can't be told; allowed: locomotive, title, complaint, owner", key));
  }
  const guide::Position at = *take_up(bench, bench.words[0]).at;
  if (!at.job.closing)
    for (Draft& heard : guide::hear(at, said)) drafts.push_back(std::move(heard));
  say_where(bench, taken(bench.desk.enter(std::move(drafts))));
  return kOk;
}

int action_note(Bench& bench) {
  demand_words(bench, 2, "a job and what to write down");
  const std::string text = rest_of(bench.words, 1);
  const guide::Position at = *take_up(bench, bench.words[0]).at;
  if (at.job.closing && !guide::hear(at, text).empty())
    bench.io.err << fmt::format("wheeltapper: the job is closed. Is something dangerous? wheeltapper job hazard {}\n",
                                report::short_id(at.job.id));
  say_where(bench, taken(bench.desk.note(text)));
  return kOk;
}

/// A hazard, whatever is asked at the moment; without words, all that there are, to choose from.
int action_hazard(Bench& bench) {
  demand_words(bench, 1, "a job, and hazards such as burning-smell; none to choose from all");
  const Words findings(bench.words.begin() + 1, bench.words.end());
  for (const std::string& word : findings) {
    demand_id(word, "finding", bench.catalogue->finding(word), bench.catalogue->items().findings);
    if (!job::is_hazard(*bench.catalogue, word))
      throw UsageError(fmt::format("{} is no hazard; wheeltapper job answer takes it", word));
  }
  const bool closed = take_up(bench, bench.words[0]).closed();
  const app::Screen screen = taken(bench.desk.hazard(findings));
  if (closed && !screen.closed() && !wants_json(bench)) bench.io.out << "The job was closed; it is open again.\n";
  say_where(bench, screen);
  return kOk;
}

struct JobAction {
  std::string_view name, words, does;
  int (*run)(Bench& bench);
  bool looks = false;  // writes nothing
};

constexpr std::array kJobActions{
    JobAction{"new", "[CASE.json]", "begin a job, from a case file or from nothing, and lead through it", action_new},
    JobAction{"go", "[JOB]", "go on with a job (the only one open, if none is named)", action_go},
    JobAction{"list", "", "all jobs", action_list, true},
    JobAction{"show", "JOB", "its events", action_show, true},
    JobAction{"next", "JOB", "the next question or step", action_next, true},
    JobAction{"say", "JOB WORDS", "answer that question", action_say},
    JobAction{"answer", "JOB FINDING[=WORD]...", "findings, whatever is asked", action_answer},
    JobAction{"hazard", "JOB [FINDING...]", "something burns, smokes, shocks: at any moment", action_hazard},
    JobAction{"known", "JOB CONTEXT[=no]...", "what is known beforehand", action_known},
    JobAction{"tell", "JOB KEY=WORDS...", "locomotive, title, complaint or owner, put right", action_tell},
    JobAction{"read", "JOB QUANTITY=VALUE...", "readings of a run", action_read},
    JobAction{"check", "JOB CHECK RESULT...|none", "what a check showed", action_check},
    JobAction{"repair", "JOB REPAIR", "a repair that was done", action_repair},
    JobAction{"retest", "JOB passed|failed", "a retest judged by eye", action_retest},
    JobAction{"close", "JOB END [CAUSE...]", "cured, not-cured, no-fault, referred or scrapped", action_close},
    JobAction{"record", "JOB", "its record, as text or with --html as a page to print", action_record, true},
    JobAction{"undo", "JOB", "take the last entry back", action_undo},
    JobAction{"reopen", "JOB", "open a closed job again", action_reopen},
    JobAction{"note", "JOB WORDS", "write something down", action_note},
};

std::string job_actions_text() {
  std::string text =
      "Leads a repair from intake through checks and repairs to a proven cure, one plain question at a\n"
      "time, and keeps every answer in the log as it is given.\n\n";
  for (const JobAction& action : kJobActions)
    text += fmt::format("  {:<7} {:<26}{}\n", action.name, action.words, action.does);
  return text + "\nA JOB is the start of its id (four letters or more), last or open.";
}

po::options_description job_options() {
  po::options_description own("Of single actions");
  own.add_options()("owner", po::value<std::string>()->value_name("NAME"), "new: whose it is; may be left out")(
      "quiet,q", po::bool_switch(), "new: only begin it and print its id")(
      "run", po::value<std::string>()->default_value("loaded")->value_name("KIND"), "read: the kind of run")(
      "direction", po::value<std::string>()->default_value("forward")->value_name("WAY"),
      "read: forward, reverse or any")("cars", po::value<int>()->value_name("N"), "read: cars behind it")(
      "anyway", po::bool_switch(), "close: as cured or no fault found, though a hazard is active")(
      "sure-of-it", po::bool_switch(), "read: take a reading that lies very far from its limit")(
      "html", po::value<std::string>()->value_name("FILE"), "record: write a page to print (- for the screen)")(
      "minutes", po::value<double>()->value_name("MIN"), "check, repair: how long it took");
  auto options = common_options(true, true);
  options.add(family_options())
      .add(own)
      .add(output_options())
      .add(log_options())
      .add(diagnose_options())
      .add(learning_options());
  return options;
}

/// That the knowledge in use was learned, where somebody reads along.
void say_what_is_used(const KnowledgeInUse& use, const Parsed& parsed, const Io& io) {
  if (use.said.empty() || parsed.values["json"].as<bool>() || parsed.values["quiet"].as<bool>()) return;
  report::Page page(style_of(parsed, io));
  page.paragraph(use.said);
  io.out << page.text();
}

}  // namespace

int run_job(const Args& args, const Io& io) {
  po::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, job_options(), words, "job ACTION [words] [options]", job_actions_text(),
            "  wheeltapper job new --family ac-series\n  wheeltapper job new cases/demo/dry-bearings.json\n"
            "  wheeltapper job go\n  wheeltapper job say last \"2.4 A\"\n"
            "  wheeltapper job read last amps=1.8A --direction reverse\n");
  if (parsed.helped) return kOk;
  auto given = parsed.values["words"].as<Words>();
  const std::string name = given.empty() ? "go" : given.front();
  const JobAction& action = find_action(kJobActions, "job", name);
  if (!given.empty()) given.erase(given.begin());
  using Open = log::Settings::Open;
  const bool begins = name == "new" || !log_exists(parsed, io);
  std::vector<Draft> drafts;
  if (name == "new") drafts = opening(parsed, io, given, *knowledge_of(parsed));
  auto log = action.looks && !begins
                 ? open_to_read(parsed, io, knowledge_of(parsed))
                 : open_log(parsed, io, knowledge_of(parsed), begins ? Open::create : Open::existing);
  const KnowledgeInUse use = knowledge_in_use(parsed, *log);
  const auto& catalogue = use.catalogue;
  if (name == "new" || name == "go") say_what_is_used(use, parsed, io);
  app::Desk desk(catalogue, *log, world_of(parsed), diagnose_settings(parsed));
  Bench bench{parsed,           io, style_of(parsed, io), catalogue, std::move(log), std::move(desk), std::move(given),
              std::move(drafts)};
  return action.run(bench);
}

}  // namespace wheeltapper::cli
