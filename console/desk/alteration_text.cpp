#include "console/desk/alteration_text.hpp"

#include <fmt/format.h>

#include "console/desk/fact_text.hpp"
#include "console/desk/member_text.hpp"

namespace stonecall::desk {

std::string alteration_text(const picture::Alteration& alteration, const ClockText& clock) {
  using What = picture::Alteration::What;
  std::string text = clock.seconds(alteration.by.at) + " " + alteration.by.from + ": ";
  switch (alteration.what) {
    case What::amended: {
      std::string parts;
      for (const auto& [member, before, after] : alteration.changes)
        parts += fmt::format("{}{} {} → {}", parts.empty() ? "" : "; ", member_words(member),
                             member_text(before, member, clock), member_text(after, member, clock));
      text += parts.empty() ? "nothing changed" : parts;
      break;
    }
    case What::retracted:
      text += "taken back";
      break;
    case What::undone:
      text += "took that back";
      break;
  }
  if (!alteration.why.empty()) text += " (" + alteration.why + ")";
  if (!alteration.refused.empty()) text += "; refused: " + alteration.refused;
  if (!alteration.in_force) text += "; no longer holds";
  return text;
}

std::string correction_text(const protocol::Amend& correction, const protocol::Event* target,
                            const ClockText& clock) {
  if (!target) return chip_text(correction);
  const protocol::Json before = picture::members_of(*target);
  // "of 14": of a sample its number, where that is not what changes.
  std::string of;
  const bool sample = before.contains("number") || before.contains("bag");
  if (sample && before.contains("number") && !correction.changes.contains("number"))
    of = " of " + before["number"].get<std::string>();
  std::string text;
  for (const auto& [name, after] : correction.changes.items()) {
    const auto was = before.find(name);
    text += text.empty() ? "" : ", ";
    text += std::string(member_words(name)) + of;
    if (was != before.end()) text += (of.empty() ? " " : ": ") + member_text(*was, name, clock);
    text += " becomes " + member_text(after, name, clock);
  }
  return text.empty() ? "correction" : text;
}

}  // namespace stonecall::desk
