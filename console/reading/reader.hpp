#pragma once

#include <functional>
#include <initializer_list>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "console/reading/fact.hpp"
#include "console/reading/vocabulary.hpp"
#include "protocol/time.hpp"

namespace stonecall::reading {

/// Field numbers of samples that were already taken. A copy costs nothing for what it shares with
/// the other moments of an exercise.
class SampleNumbers {
 public:
  using Taken = std::unordered_map<std::string, protocol::Instant>;  ///< a number, and since when

  SampleNumbers() = default;
  SampleNumbers(std::initializer_list<std::string> taken) : added_(taken) {}
  /// Those of `taken` that were taken up to `until`.
  SampleNumbers(std::shared_ptr<const Taken> taken, protocol::Instant until)
      : taken_(std::move(taken)), until_(until) {}
  void add(std::string number) {
    std::erase(freed_, number);
    added_.push_back(std::move(number));
  }
  /// A number that was given wrongly.
  void free(const std::string& number) {
    std::erase(added_, number);
    freed_.push_back(number);
  }
  bool contains(const std::string& number) const;

 private:
  std::shared_ptr<const Taken> taken_;
  protocol::Instant until_{};
  std::vector<std::string> added_;
  std::vector<std::string> freed_;
};

/// What the last note said of shares.
struct SharesSaid {
  double left = 0;   ///< percent that they leave; 0: all, or none were said
  std::string last;  ///< kind of the last one; empty: none was said
  bool operator==(const SharesSaid&) const = default;
};

class Statements;  // proposed.hpp

/// What is known when a note is spoken. Empty text: not known.
struct Context {
  std::string station;
  std::string last_sample;  ///< field number
  std::string last_bag;
  SampleNumbers samples;
  std::shared_ptr<const Statements> statements = {};  ///< null: looked for in the picture
  std::vector<std::string> party = {};      ///< names of those in the field, in lower case
  std::string speaker = {};                 ///< who speaks, in lower case
  std::vector<std::string> back_room = {};  ///< what those at base are called, in lower case
  bool unnumbered = false;                  ///< a rock was picked up last and not numbered yet
  SharesSaid shares_before = {};
  std::function<SharesSaid()> find_shares_before =
      {};  ///< where set, asked instead if it is needed

  SharesSaid said_before() const {
    return find_shares_before ? find_shares_before() : shares_before;
  }
};

/// The context after the facts of a note were accepted as they stand.
void follow(Context& context, const std::vector<Proposal>& proposals);

/// Reads field speech. Building one prepares the vocabulary; reading is const and may run on
/// several threads.
class Reader {
 public:
  /// With no rocks in the vocabulary the built-in kinds stand alone; else kinds that the plan does
  /// not list are still read, marked as not planned.
  explicit Reader(const Vocabulary& vocabulary);
  ~Reader();
  Reader(Reader&&) noexcept;
  Reader& operator=(Reader&&) noexcept;

  /// Facts that the note states, in order of its words. Any bytes are taken; what is not UTF-8
  /// separates words. Time is linear in the length of the text. A note of the back room itself
  /// states nothing: do not read it.
  std::vector<Proposal> read(std::string_view text, const Context& context) const;

 private:
  struct Prepared;
  std::unique_ptr<const Prepared> prepared_;
};

}  // namespace stonecall::reading
