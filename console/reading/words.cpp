#include "console/reading/words.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>

#include "protocol/utf8.hpp"

namespace stonecall::reading {
namespace {

namespace utf8 = protocol::utf8;

bool is_letter(unsigned char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}
bool is_digit(unsigned char c) {
  return c >= '0' && c <= '9';
}
char lower(unsigned char c) {
  return static_cast<char>(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c);
}

/// Latin letters with marks, folded to plain ones as speech recognisers leave them out.
char folded(char32_t point) {
  static constexpr std::string_view latin1 =
      "aaaaaaaceeeeiiiidnooooo*ouuuuytsaaaaaaaceeeeiiiidnooooo*ouuuuyty";
  if (point < 0xC0 || point > 0xFF || point == 0xD7 || point == 0xF7) return 0;
  return latin1[point - 0xC0];
}

bool is_filler(std::string_view word) {
  static constexpr std::array<std::string_view, 19> fillers{
      "um",  "umm", "uh",  "uhh", "er",  "erm", "err", "ah",  "ahh", "eh",
      "ehm", "hm",  "hmm", "mm",  "mmm", "mhm", "uhm", "aah", "em"};
  return std::find(fillers.begin(), fillers.end(), word) != fillers.end();
}

/// Words that mean something when said twice: "bag three three".
bool may_repeat(std::string_view word) {
  static constexpr std::array<std::string_view, 16> repeatable{
      "one",  "two",  "three", "four", "five",  "six", "seven", "eight",
      "nine", "zero", "oh",    "ten",  "fifty", "o",   "no",    "half"};
  return std::find(repeatable.begin(), repeatable.end(), word) != repeatable.end();
}

bool is_tens(std::string_view word) {
  static constexpr std::array<std::string_view, 8> tens{"twenty", "thirty",  "forty",  "fifty",
                                                        "sixty",  "seventy", "eighty", "ninety"};
  return std::find(tens.begin(), tens.end(), word) != tens.end();
}

bool is_number_word(std::string_view word) {
  return (may_repeat(word) && word != "no" && word != "half" && word != "o") || is_tens(word) ||
         word.ends_with("teen") || word == "eleven" || word == "twelve";
}

/// Words that no clause ends with.
bool leans_forward(std::string_view word) {
  static constexpr std::array<std::string_view, 34> leaning{
      "a",     "an",      "the",   "of",    "my",    "our",  "at",      "is",      "are",
      "was",   "were",    "it's",  "we're", "i'm",   "i've", "we've",   "there's", "with",
      "from",  "than",    "about", "for",   "these", "very", "roughly", "nearly",  "hardly",
      "every", "between", "into",  "to",    "and",   "or",   "that's"};
  return std::find(leaning.begin(), leaning.end(), word) != leaning.end();
}

/// "It's, what do you call it, skarn", "it's, no, basalt": here the commas say something.
bool begins_aside(std::string_view word) {
  static constexpr std::array<std::string_view, 22> asides{
      "what", "what's", "how",      "let",       "i",    "you",    "dunno", "like",
      "say",  "no",     "not",      "wait",      "hang", "hold",   "sorry", "correction",
      "or",   "as",     "actually", "apologies", "make", "scratch"};
  return std::find(asides.begin(), asides.end(), word) != asides.end();
}

/// "fistsized", "eggsize"
bool sized_as_one_word(std::string_view word) {
  if (!word.ends_with("sized") && !word.ends_with("size")) return false;
  const std::string_view thing = word.substr(0, word.rfind("size"));
  static constexpr std::array<std::string_view, 9> things{
      "fist", "egg", "hand", "brick", "walnut", "pea", "football", "head", "thumbnail"};
  return std::find(things.begin(), things.end(), thing) != things.end();
}

/// Words that go with the number before.
bool leans_back(std::string_view word) {
  static constexpr std::array<std::string_view, 11> leaning{
      "percent",    "inch", "inches", "centimetre",  "centimetres", "centimeters",
      "centimeter", "cm",   "mm",     "millimetres", "millimeters"};
  return std::find(leaning.begin(), leaning.end(), word) != leaning.end();
}

/// One way to write a word where two are common: names in the plan and what is heard go through it.
std::string_view one_spelling(std::string_view word) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 8> pairs{
      {{"gray", "grey"},
       {"grayish", "greyish"},
       {"graywacke", "greywacke"},
       {"graywackes", "greywackes"},
       {"sulfur", "sulphur"},
       {"sulfide", "sulphide"},
       {"haematite", "hematite"},
       {"mold", "mould"}}};
  const auto found = std::find_if(pairs.begin(), pairs.end(),
                                  [&](const auto& pair) { return pair.first == word; });
  return found == pairs.end() ? word : found->second;
}

class Tokeniser {
 public:
  explicit Tokeniser(std::string_view text) : text_(text) {}

  std::vector<Token> run() {
    tokens_.reserve(text_.size() / 5 + 4);
    pass_time_stamp();
    while (at_ < text_.size()) step();
    return std::move(tokens_);
  }

 private:
  unsigned char byte(std::size_t i) const {
    return i < text_.size() ? static_cast<unsigned char>(text_[i]) : 0;
  }

  /// "[10:04] ", "10:04:22 - ", "> ": what stands before a line in a transcript.
  void pass_time_stamp() {
    std::size_t at = 0;
    while (byte(at) == ' ' || byte(at) == '[' || byte(at) == '(' || byte(at) == '>' ||
           byte(at) == '*')
      ++at;
    const auto digits = [&](std::size_t least) {
      const std::size_t begin = at;
      while (at - begin < 2 && is_digit(byte(at))) ++at;
      return at - begin >= least;
    };
    if (!digits(1) || byte(at) != ':') return;
    ++at;
    if (!digits(2)) return;
    if (byte(at) == ':') {
      ++at;
      if (!digits(2)) return;
    }
    while (byte(at) == ']' || byte(at) == ')' || byte(at) == ',' || byte(at) == ':') ++at;
    if (byte(at) != ' ') return;
    while (byte(at) == ' ' || byte(at) == '-') ++at;
    at_ = at;
  }

  /// "[inaudible]", "<unk>": what a transcriber or a recogniser puts in for itself.
  bool pass_remark(unsigned char c) {
    const char closing = c == '[' ? ']' : '>';
    constexpr std::size_t longest = 24;
    std::size_t end = at_ + 1;
    while (end < text_.size() && end - at_ <= longest &&
           (is_letter(byte(end)) || byte(end) == ' ' || byte(end) == '_' || byte(end) == '/'))
      ++end;
    if (end == at_ + 1 || byte(end) != static_cast<unsigned char>(closing)) return false;
    at_ = end + 1;
    return true;
  }

  void step() {
    const unsigned char c = byte(at_);
    if ((c == '[' || c == '<') && pass_remark(c)) return;
    if (is_letter(c)) return word();
    if (is_digit(c) || (c == '.' && is_digit(byte(at_ + 1)) && !is_digit(at_ ? byte(at_ - 1) : 0)))
      return number();
    if (c >= 0x80) return beyond_ascii();
    sign(c);
  }

  void add(Token::Kind kind, std::string text, std::size_t begin) {
    const Words words{static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(at_)};
    if (kind == Token::Kind::word) {
      if (text == "mm" && after_figure()) text = "millimetres";
      if (is_filler(text)) {
        // "um, so": the comma after a filler parts nothing, nor do both of "six, um, oh nine".
        if (byte(at_) == ',' || byte(at_) == '.') {
          while (byte(at_) == ',' || byte(at_) == '.') ++at_;
          if (ends_with_comma()) tokens_.pop_back();
        }
        return;
      }
      drop_stammer(text);
      drop_hesitation(text);
    }
    if (kind == Token::Kind::digits) {
      drop_hesitation(text);
      if (const std::string_view spelt = digit_of_tens(text); !spelt.empty())
        return add(Token::Kind::word, std::string(spelt), begin);
    }
    if (kind == Token::Kind::mark && !tokens_.empty() && tokens_.back().kind == Token::Kind::mark) {
      // Of several marks in a row the strongest stands.
      if (tokens_.back().text == "," || tokens_.back().text == "-") tokens_.back().text = text;
      return;
    }
    tokens_.push_back({kind, std::move(text), words});
  }

  bool ends_with_comma() const {
    return !tokens_.empty() && tokens_.back().kind == Token::Kind::mark &&
           tokens_.back().text == ",";
  }

  /// "The, rest", "in the... silt", "sample, seven", "seventy, percent": a pause where no clause
  /// can end or begin parts nothing.
  void drop_hesitation(std::string_view next) {
    if (tokens_.size() < 2 || !ends_with_comma() || begins_aside(next)) return;
    const Token& before = tokens_[tokens_.size() - 2];
    const bool number = is_digit(static_cast<unsigned char>(next.front())) || is_number_word(next);
    const bool counted = before.kind == Token::Kind::digits || is_number_word(before.text);
    const bool label = before.text == "bag" || before.text == "sample" || before.text == "number";
    // "thirty... one", "six... oh four": a pause within a number, where a comma would part two
    const bool trailed_off = byte(tokens_.back().words.begin) == '.';
    if (trailed_off && number && is_number_word(before.text)) return tokens_.pop_back();
    const bool leans = before.kind == Token::Kind::word && leans_forward(before.text);
    if (leans || (label && number) || (counted && leans_back(next))) tokens_.pop_back();
  }

  /// "twenty 3": the figure as a word, so that both make one number. Empty: it does not stand
  /// there.
  std::string_view digit_of_tens(std::string_view figure) const {
    static constexpr std::array<std::string_view, 9> words{"one", "two",   "three", "four", "five",
                                                           "six", "seven", "eight", "nine"};
    if (figure.size() != 1 || figure == "0" || tokens_.empty() || !is_tens(tokens_.back().text))
      return {};
    // "bag thirty 5 cm"
    std::string_view rest = text_.substr(at_);
    while (rest.starts_with(' ')) rest.remove_prefix(1);
    if (rest.starts_with("cm") || rest.starts_with("in") || rest.starts_with("mm") ||
        rest.starts_with('x') || rest.starts_with('"') || rest.starts_with("by "))
      return {};
    return words[static_cast<std::size_t>(figure[0] - '1')];
  }

  /// "12 mm", "two mm": a unit there, else a hesitation
  bool after_figure() const {
    if (tokens_.empty()) return false;
    const Token& before = tokens_.back();
    return before.kind == Token::Kind::digits ||
           (before.kind == Token::Kind::word && may_repeat(before.text) && before.text != "no");
  }

  /// "bag no thirty", "sample no. 5"
  bool number_follows() const {
    std::size_t at = at_;
    while (byte(at) == '.' || byte(at) == ' ') ++at;
    if (is_digit(byte(at))) return true;
    std::string next;
    for (; is_letter(byte(at)); ++at) next += lower(byte(at));
    return is_number_word(next);
  }

  /// Whether a number or a unit was said last.
  bool measured() const {
    if (tokens_.empty()) return true;
    const Token& last = tokens_.back();
    return last.kind == Token::Kind::digits || may_repeat(last.text) || is_tens(last.text) ||
           leans_back(last.text) || last.text == "foot" || last.text == "feet" ||
           last.text == "metre" || last.text == "m" || last.text == "in";
  }
  bool counts() const {
    return !tokens_.empty() &&
           (tokens_.back().kind == Token::Kind::digits || may_repeat(tokens_.back().text)) &&
           tokens_.back().text != "no" && is_letter(byte(at_ + 1));
  }

  /// "4in", "4 x 3 x 2 in, loose", "12 in across": a unit behind a figure, where nothing follows
  /// that the rock could be in.
  bool measures_inches() const {
    if (tokens_.empty() || tokens_.back().kind != Token::Kind::digits) return false;
    const Token* before = tokens_.size() > 1 ? &tokens_[tokens_.size() - 2] : nullptr;
    if (before && (before->text == "bag" || before->text == "sample" || before->text == "number"))
      return false;
    if (at_ >= 3 && is_digit(byte(at_ - 3))) return true;  // "4in"
    const unsigned char c = byte(at_);
    if (c == 0 || c == ',' || c == '.' || c == ';' || c == ')') return true;
    const std::string_view rest = text_.substr(at_);
    return rest.starts_with(" long") || rest.starts_with(" across") || rest.starts_with(" wide") ||
           rest.starts_with(" x ") || rest.starts_with(" by ");
  }

  /// "a, a white crust", "no dolomite dolomite": the first of the two goes. Numbers may be meant.
  void drop_stammer(std::string_view word) {
    if (tokens_.empty() || may_repeat(word) || is_tens(word)) return;
    const bool comma = ends_with_comma();
    if (comma && word.size() > 4) return;
    const std::size_t back = comma ? 2 : 1;
    if (tokens_.size() < back) return;
    const Token& before = tokens_[tokens_.size() - back];
    if (before.kind == Token::Kind::word && before.text == word)
      tokens_.resize(tokens_.size() - back);
  }

  /// "sam- sample": the word that was broken off goes, where it is begun again.
  bool drop_cut_word() {
    if (tokens_.empty() || tokens_.back().kind != Token::Kind::word ||
        tokens_.back().words.end + 1 != at_)
      return false;
    const std::string& cut = tokens_.back().text;
    std::size_t next = at_ + 1;
    for (const char c : cut)
      if (lower(byte(next++)) != c) return false;
    if (!is_letter(byte(next))) return false;
    tokens_.pop_back();
    return true;
  }

  void word() {
    const std::size_t begin = at_;
    std::string text;
    while (at_ < text_.size()) {
      const unsigned char c = byte(at_);
      if (is_letter(c)) {
        text += lower(c);
        ++at_;
        continue;
      }
      if (c == '\'' && is_letter(byte(at_ + 1))) {
        text += '\'';
        ++at_;
        continue;
      }
      if (c < 0x80) break;
      const utf8::Letter letter = utf8::letter_at(text_, at_);
      if (letter.point == 0x2019 && is_letter(byte(at_ + letter.length))) {
        text += '\'';
      } else if (const char plain = folded(letter.point)) {
        text += plain;
      } else {
        break;
      }
      at_ += letter.length;
    }
    const bool short_for_number =
        text == "no" && byte(at_) == '.' && byte(at_ + 1) == ' ' && is_digit(byte(at_ + 2));
    const bool of_label = text == "no" && !tokens_.empty() &&
                          (tokens_.back().text == "bag" || tokens_.back().text == "sample") &&
                          number_follows();
    if (short_for_number || of_label) {
      text = "number";
      if (byte(at_) == '.') ++at_;
    }
    // "approx. 10 cm": no sentence ends there
    const bool shortened = text == "approx" || text == "ca" || text == "circa" || text == "nr" ||
                           text == "pct" || text == "smpl" || text == "num";
    if (shortened && byte(at_) == '.' && byte(at_ + 1) == ' ' &&
        !(byte(at_ + 2) >= 'A' && byte(at_ + 2) <= 'Z'))
      ++at_;
    const bool between_figures =
        text == "x" && (is_digit(byte(at_)) || (byte(at_) == ' ' && is_digit(byte(at_ + 1))));
    if (between_figures && measured())
      text = "by";
    else if (text == "x" && byte(at_) == ' ' && (between_figures || counts()))
      return;  // "7 x basalt", "basalt x 7"
    text = one_spelling(text);
    if (sized_as_one_word(text)) {
      const std::size_t thing = text.rfind("size");
      const std::size_t end = at_;
      at_ = begin + thing;
      add(Token::Kind::word, text.substr(0, thing), begin);
      at_ = end;
      return add(Token::Kind::word, text.substr(thing), begin + thing);
    }
    if (text == "in" && measures_inches()) text = "inches";
    if (text == "w" && byte(at_) == '/') {  // "w/", "w/o"
      ++at_;
      text = "with";
      if (lower(byte(at_)) == 'o' && !is_letter(byte(at_ + 1))) {
        ++at_;
        text = "without";
      }
    }
    add(Token::Kind::word, std::move(text), begin);
  }

  /// "1-4-4", as spoken digits are sometimes written: three or more, each by itself.
  bool spelt() {
    std::size_t end = at_;
    std::string text;
    while (is_digit(byte(end)) && !is_digit(byte(end + 1))) {
      text += static_cast<char>(byte(end++));
      if (byte(end) != '-' || !is_digit(byte(end + 1))) break;
      ++end;
    }
    if (text.size() < 3 || is_digit(byte(end)) || is_letter(byte(end))) return false;
    const std::size_t begin = at_;
    at_ = end;
    add(Token::Kind::digits, std::move(text), begin);
    return true;
  }

  /// "10:42", "10:42:30": a time of the day. Its figures are one number, and no label or count.
  bool time_of_day() {
    const auto two_up_to = [&](std::size_t at, unsigned most) {
      return is_digit(byte(at)) && is_digit(byte(at + 1)) && !is_digit(byte(at + 2)) &&
             (byte(at) - '0') * 10U + (byte(at + 1) - '0') <= most;
    };
    const std::size_t begin = at_;
    const std::size_t colon = is_digit(byte(at_ + 1)) ? at_ + 2 : at_ + 1;
    const bool hour = colon == at_ + 1 || two_up_to(at_, 24);
    if (!hour || byte(colon) != ':' || !two_up_to(colon + 1, 59)) return false;
    std::size_t end = colon + 3;
    if (byte(end) == ':' && two_up_to(end + 1, 59)) end += 3;
    if (byte(end) == ':' && is_digit(byte(end + 1))) return false;
    std::string figures;
    for (const std::size_t at : {begin, begin + 1, colon + 1, colon + 2})
      if (at != colon) figures += static_cast<char>(byte(at));
    at_ = end;
    add(Token::Kind::digits, std::move(figures), begin);
    add(Token::Kind::word, "o'clock", begin);
    return true;
  }

  void number() {
    if (spelt() || time_of_day()) return;
    const std::size_t begin = at_;
    std::string text;
    bool point = false;
    for (; at_ < text_.size(); ++at_) {
      const unsigned char c = byte(at_);
      if (is_digit(c)) {
        text += static_cast<char>(c);
      } else if (c == '.' && !point && is_digit(byte(at_ + 1))) {
        text += '.';
        point = true;
      } else if (c == ',' && !point && text.size() <= 3 && is_digit(byte(at_ + 1)) &&
                 is_digit(byte(at_ + 2)) && is_digit(byte(at_ + 3)) && !is_digit(byte(at_ + 4))) {
        continue;  // thousands
      } else {
        break;
      }
    }
    // "9's a marble": no feet
    if (byte(at_) == '\'' && lower(byte(at_ + 1)) == 's' && !is_letter(byte(at_ + 2))) {
      text += "'s";
      at_ += 2;
    }
    add(Token::Kind::digits, std::move(text), begin);
    after_number();
  }

  /// Signs that mean something only right after a number: 5", 5', 5x4, 5/8, 5-8.
  void after_number() {
    const unsigned char c = byte(at_);
    const std::size_t begin = at_;
    if (c == '"' || c == '\'') {
      const bool inches = c == '"' || byte(at_ + 1) == '\'';
      // A quotation mark that closes speech is not an inch mark; only a rock's measure continues
      // after it.
      at_ += c == '\'' && inches ? 2 : 1;
      add(Token::Kind::word, inches ? "inch" : "foot", begin);
    } else if ((c == 'x' || c == 'X') && (is_digit(byte(at_ + 1)) || byte(at_ + 1) == ' ')) {
      ++at_;
      add(Token::Kind::word, "by", begin);
    } else if (c == '/' && is_digit(byte(at_ + 1))) {
      ++at_;
      add(Token::Kind::word, "slash", begin);
    } else if (c == '-' && is_digit(byte(at_ + 1))) {
      ++at_;
      add(Token::Kind::word, "to", begin);
    }
  }

  void beyond_ascii() {
    const std::size_t begin = at_;
    const utf8::Letter sign = utf8::letter_at(text_, at_);
    if (folded(sign.point)) return word();
    at_ += sign.length;
    switch (sign.point) {
      case 0xB0:
        return add(Token::Kind::word, "degrees", begin);
      case 0xBC:
        return add(Token::Kind::word, "quarter", begin);
      case 0xBD:
        return add(Token::Kind::word, "half", begin);
      case 0xBE:
        return add(Token::Kind::word, "three-quarters", begin);
      case 0x2153:
        add(Token::Kind::word, "a", begin);
        return add(Token::Kind::word, "third", begin);
      case 0x2154:
        return add(Token::Kind::word, "two-thirds", begin);
      case 0xD7:
        return add(Token::Kind::word, "by", begin);
      case 0x2013: {  // en dash: a range between figures, else a pause
        const bool range = begin > 0 && is_digit(byte(begin - 1)) && is_digit(byte(at_));
        return range ? add(Token::Kind::word, "to", begin) : add(Token::Kind::mark, ",", begin);
      }
      case 0x2014:
        return add(Token::Kind::mark, ",", begin);
      case 0x2026:
        return add(Token::Kind::mark, ",", begin);
      case 0x2033:
        return add(Token::Kind::word, "inch", begin);
      case 0x2032:
        return add(Token::Kind::word, "foot", begin);
      default:
        return;
    }
  }

  void sign(unsigned char c) {
    const std::size_t begin = at_++;
    switch (c) {
      case '%':
        return add(Token::Kind::word, "percent", begin);
      case '#':
        return add(Token::Kind::word, "number", begin);
      case '~':
        return add(Token::Kind::word, "about", begin);
      case '&':
        return add(Token::Kind::word, "and", begin);
      case '+':
        return add(Token::Kind::word, "plus", begin);
      case '=':
        return add(Token::Kind::word, "equals", begin);
      case '@':
        return add(Token::Kind::word, "at", begin);
      case '>':
      case '<': {
        // ">50%", "< 10 %"; elsewhere a sign of no word
        while (byte(at_) == ' ' || byte(at_) == '=') ++at_;
        if (!is_digit(byte(at_))) return;
        return add(Token::Kind::word, c == '>' ? "over" : "under", begin);
      }
      case '?': {
        // "8 chert, 1 ?": a count of what nobody knows
        const bool counted = begin >= 2 && byte(begin - 1) == ' ' && is_digit(byte(begin - 2));
        if (counted) return add(Token::Kind::word, "unknown", begin);
        return add(Token::Kind::mark, "?", begin);
      }
      case ',':
      case ':':
      case ';':
      case '!':
        return add(Token::Kind::mark, std::string(1, static_cast<char>(c)), begin);
      case '(':
      case ')':
        return add(Token::Kind::mark, ",", begin);
      case '/':  // "pair / down sun / after"; elsewhere it parts nothing
        if (begin > 0 && byte(begin - 1) == ' ' && byte(at_) == ' ')
          add(Token::Kind::mark, ",", begin);
        return;
      case '.': {
        const bool trailing_off = byte(at_) == '.';
        while (byte(at_) == '.') ++at_;
        return add(Token::Kind::mark, trailing_off ? "," : ".", begin);
      }
      case '-': {
        if (byte(at_) == '>') {  // "51 -> 53"
          ++at_;
          return add(Token::Kind::word, "to", begin);
        }
        if (byte(at_) == ' ' && drop_cut_word()) return;
        const bool pause = byte(at_) == ' ' || byte(at_) == '-';
        while (byte(at_) == '-') ++at_;
        if (pause) add(Token::Kind::mark, ",", begin);
        return;
      }
      default:
        return;
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::vector<Token> tokens_;
};

}  // namespace

std::vector<Token> tokenise(std::string_view text) {
  return Tokeniser(text).run();
}

}  // namespace stonecall::reading
