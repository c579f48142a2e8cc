// How long a note takes to read, and how that grows with its length. Run by hand:
//   build/release/tests/benchmarks/reading_speed tests/reading/notes_dev.jsonl
// Times are the fastest of several runs; growth is a ratio within one run.
#include <algorithm>
#include <cstdio>
#include <ctime>
#include <fstream>
#include <random>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "console/reading/reader.hpp"

using namespace stonecall::reading;

namespace {

constexpr std::size_t notes_read = 10'000;
constexpr std::size_t longest_note = 8 * 1024;

double fastest_us(int runs, auto&& work) {
  double best = 1e12;
  for (int run = 0; run < runs; ++run) {
    const auto begin = std::clock();
    work();
    best = std::min(best, 1e6 * static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC);
  }
  return best;
}

std::string repeated(const std::string& piece, std::size_t bytes) {
  std::string text;
  while (text.size() < bytes) text += piece;
  text.resize(bytes);
  return text;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::puts("usage: reading_speed NOTES.jsonl");
    return 2;
  }
  Vocabulary vocabulary;
  std::vector<std::string> texts;
  std::ifstream in(argv[1]);
  for (std::string line; std::getline(in, line);) {
    const auto json = nlohmann::json::parse(line);
    for (const auto& rock : json.value("vocabulary", nlohmann::json::array()))
      vocabulary.rocks.push_back({rock["rock"], rock["spoken"]});
    for (const auto& station : json.value("stations", nlohmann::json::array()))
      vocabulary.stations.push_back({station["station"], station["spoken"]});
    if (json.contains("text")) texts.push_back(json["text"]);
  }
  if (texts.empty()) return 1;
  const Reader reader(vocabulary);
  const Context context{"Cone Foot", "7", "36", {"1", "2", "3", "4", "5", "6", "7"}};

  std::size_t facts = 0;
  const double whole = fastest_us(5, [&] {
    facts = 0;
    for (std::size_t i = 0; i < notes_read; ++i)
      facts += reader.read(texts[i % texts.size()], context).size();
  });
  std::printf("%zu notes: %.1f us a note, %zu proposals\n", notes_read,
              whole / static_cast<double>(notes_read), facts);
  double slowest = 0;
  for (const std::string& text : texts)
    slowest = std::max(slowest, fastest_us(3, [&] { facts += reader.read(text, context).size(); }));
  std::printf("slowest labelled note: %.0f us\n", slowest);

  std::mt19937 random(1);
  std::string noise;
  for (std::size_t i = 0; i < longest_note; ++i) noise += static_cast<char>(random() % 256);
  std::string all;
  for (const std::string& text : texts) all += text + ' ';
  std::string unknown;
  while (unknown.size() < longest_note) {
    for (int i = 0; i < 12; ++i) unknown += static_cast<char>('a' + random() % 26);
    unknown += ' ';
  }
  const std::vector<std::pair<const char*, std::string>> cases{
      {"labelled notes run together", all},
      {"random bytes", noise},
      {"unknown words", unknown},
      {"\"no \"", "no "},
      {"\"one hundred and \"", "one hundred and "},
      {"\"granite, \"", "granite, "},
      {"\"maybe granite \"", "maybe granite "},
      {"\"bag one \"", "bag one "},
      {"\"a\"", "a"},
      {"\"half of \"", "half of "},
      {"\"leaving the \"", "leaving the "},
      {"\"want \"", "want "},
      {"\"stereo \"", "stereo "},
      {"\"not seen any \"", "not seen any "},
      {"\"tone a light \"", "tone a light "},
      {"\"for four \"", "for four "}};
  for (const auto& [name, piece] : cases) {
    const std::string full = repeated(piece, longest_note);
    const std::string half = full.substr(0, longest_note / 2);
    const double long_us = fastest_us(5, [&] { facts += reader.read(full, context).size(); });
    const double half_us = fastest_us(5, [&] { facts += reader.read(half, context).size(); });
    std::printf("8 KiB of %-28s %7.0f us, %.2f times that of 4 KiB\n", name, long_us,
                long_us / std::max(half_us, 1.0));
  }
  return facts > 0 ? 0 : 1;
}
