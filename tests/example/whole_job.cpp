// A whole job at a desk in memory: no file, no clock, no terminal of its own. Lines come in, what a person must know
// goes out. Run as: whole_job FAMILY < lines, or with the text of a case in place of the family.
#include <fmt/format.h>

#include <iostream>

#include "engine/app/desk.hpp"
#include "engine/job/job_case.hpp"
#include "knowledge/shipped.hpp"

using namespace wheeltapper;

namespace {

void print(const app::Screen& screen, const catalogue::Catalogue& catalogue) {
  if (!screen.refused.empty()) fmt::print("! {}\n", screen.refused);
  for (const app::Stop& stop : screen.stops) fmt::print("STOP {}: {}\n", stop.because, stop.say);
  for (const app::Ranked& each : screen.ranking) fmt::print("cause {} {:.17g}\n", each.cause, each.chance);
  if (!screen.advised.empty()) fmt::print("advised {}\n", screen.advised);
  for (const std::string& id : screen.cautions)
    fmt::print("{} {}\n", catalogue::name(catalogue.caution(id)->signal), catalogue.caution(id)->text);
  for (const std::string& step : screen.steps) fmt::print("  {}\n", step);
  if (!screen.prompt) return;
  fmt::print("{}: {}\n", job::text_of(screen.prompt->topic), screen.prompt->question);
  for (std::size_t i = 0; i < screen.prompt->choices.size(); ++i)
    fmt::print("  {} {}\n", i + 1, screen.prompt->choices[i]);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  const auto catalogue = knowledge::shipped();
  job::MemoryStore store;
  int moments = 0;
  int ids = 0;
  const app::World world{[&] { return fmt::format("2026-11-29T10:00:00.{:03}Z", ++moments % 1000); },
                         [&] { return fmt::format("00000000-0000-4000-8000-{:012}", ++ids); }, "the example"};
  app::Desk desk(catalogue, store, world);
  const std::string what = argv[1];
  app::Screen screen =
      what.starts_with('{') ? desk.open(job::opening_events(what, "the case", *catalogue, {})) : desk.open(what);
  print(screen, *catalogue);
  for (std::string line; !screen.closed() && screen.heard != app::Heard::left && std::getline(std::cin, line);) {
    screen = desk.say(line);
    print(screen, *catalogue);
  }
  fmt::print("{}\n", screen.closed() ? job::words(screen.at->job.closing->outcome) : "left open");
}
