package access

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"encoding/hex"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"evenpeel/recipes/fault"
)

const (
	longestLocalPart = 64 // RFC 5321 4.5.3.1.1
	longestTitle     = 100
	personIDBytes    = 4  // beside the readable part of a name; a name that is taken all the same is a fault, not a mix-up
	mostSlug         = 40 // bytes of that part
	wordBytes        = 10 // 80 bits: nobody guesses it
)

var (
	emailShape  = regexp.MustCompile(`^[^\s@<>()",:;\\\[\]]+@[\pL\pN]([\pL\pN-]*[\pL\pN])?(\.[\pL\pN]([\pL\pN-]*[\pL\pN])?)+$`)
	branchShape = regexp.MustCompile(`^branches/[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`)
)

// OfBranch reports whether people of this role belong to one branch.
func (r Role) OfBranch() bool { return r == BranchOperator || r == BranchManager }

// check finds everything that is wrong with a person, and the reason that tells it best.
func check(p Person) (fs fault.Fields, reason fault.Reason) {
	reason = PersonInvalid
	local, _, _ := strings.Cut(p.Email, "@")
	switch {
	case len(p.Email) > longestEmail || len(local) > longestLocalPart:
		fs.Add("email", "is too long; at most %d characters, %d of them before the @", longestEmail, longestLocalPart)
	case !emailShape.MatchString(p.Email):
		fs.Add("email", "is no address; one looks like ann@example.com")
	}
	switch n := utf8.RuneCountInString(p.Title); {
	case strings.TrimSpace(p.Title) == "":
		fs.Add("title", "is empty; write how they are called")
	case n > longestTitle:
		fs.Add("title", "has %d characters, at most %d are allowed", n, longestTitle)
	case strings.ContainsFunc(p.Title, unicode.IsControl):
		fs.Add("title", "holds a character that can not be seen")
	}
	branchRole, wideRole := false, false
	if len(p.Roles) == 0 {
		fs.Add("roles", "is empty; name at least one role")
	}
	for i, r := range p.Roles {
		switch {
		case !slices.Contains(Roles, r):
			fs.Add(fmt.Sprintf("roles[%d]", i), "is %q, which is no role", r)
		case slices.Contains(p.Roles[:i], r):
			fs.Add(fmt.Sprintf("roles[%d]", i), "is named twice")
		case r.OfBranch():
			branchRole = true
		default:
			wideRole = true
		}
	}
	switch {
	case branchRole && wideRole:
		fs.Add("roles", "mixes roles of a branch with others; make two people of it")
	case branchRole && p.Branch == "":
		reason = RoleNeedsBranch
		fs.Add("branch", "is empty; operators and branch managers belong to a branch")
	case branchRole && !branchShape.MatchString(p.Branch):
		fs.Add("branch", "is %q; one looks like branches/harbour-street", p.Branch)
	case wideRole && p.Branch != "":
		fs.Add("branch", "must be empty for roles that are not of one branch")
	}
	return fs, reason
}

func checkPassword(email, password string) (fs fault.Fields) {
	switch n := utf8.RuneCountInString(password); {
	case !utf8.ValidString(password):
		fs.Add("password", "holds bytes that are no characters")
	case n < shortestPassword:
		fs.Add("password", "has %d characters, at least %d are needed", n, shortestPassword)
	case n > longestPassword:
		fs.Add("password", "has %d characters, at most %d are allowed", n, longestPassword)
	case strings.Count(password, string([]rune(password)[0])) == n:
		fs.Add("password", "is one character again and again; choose something less easy to guess")
	case strings.EqualFold(password, email):
		fs.Add("password", "is the address itself; choose something less easy to guess")
	}
	return fs
}

// AddPerson checks and stores a person; the name is made here. That the branch exists is for the caller to check.
// Faults Invalid/PERSON_INVALID or Invalid/ROLE_NEEDS_BRANCH with every field at once, Invalid/EMAIL_TAKEN.
func (g *Guard) AddPerson(ctx context.Context, p Person, password string) (Person, error) {
	return g.add(ctx, p, password, false)
}

func (g *Guard) add(ctx context.Context, p Person, password string, first bool) (Person, error) {
	p.Email, p.Title, p.Barred = tidyEmail(p.Email), strings.TrimSpace(p.Title), false
	fields, reason := check(p)
	var all fault.Fields
	if first {
		all = fields // the first person's request has no person inside
	} else {
		all.Under("person", fields)
	}
	all = append(all, checkPassword(p.Email, password)...)
	if err := all.Fault(room, reason, "This person can not be added yet. See the fields marked."); err != nil {
		return Person{}, err
	}
	id := make([]byte, personIDBytes)
	if _, err := io.ReadFull(g.random, id); err != nil {
		return Person{}, fmt.Errorf("id: %w", err)
	}
	p.Name = "people/" + slug(p.Title) + hex.EncodeToString(id)
	var hashErr error
	if err := g.hashing(ctx, func() { p.Password, hashErr = hashPassword(g.random, password) }); err != nil {
		return Person{}, err
	}
	if hashErr != nil {
		return Person{}, hashErr
	}
	if err := g.directory.AddPerson(ctx, p, first); err != nil {
		return Person{}, err
	}
	return withoutPassword(p), nil
}

// slug turns "Mira Oakhill" into "mira-oakhill-", so that a name in a record or a log can be read; what it can not
// write in plain letters it leaves out.
func slug(title string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(title) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= mostSlug {
			break
		}
	}
	s := strings.TrimSuffix(b.String(), "-")
	if s == "" {
		return ""
	}
	return s + "-"
}

// People lists all, by address, without their passwords.
func (g *Guard) People(ctx context.Context) ([]Person, error) {
	list, err := g.directory.People(ctx)
	for i := range list {
		list[i] = withoutPassword(list[i])
	}
	return list, err
}

// FirstWord makes the one-time word with which the first person is added, to be printed once at the start; it is
// empty where there is somebody already. Each call takes the place of the word before.
func (g *Guard) FirstWord(ctx context.Context) (string, error) {
	list, err := g.directory.People(ctx)
	if err != nil || len(list) > 0 {
		return "", err
	}
	raw := make([]byte, wordBytes)
	if _, err := io.ReadFull(g.random, raw); err != nil {
		return "", fmt.Errorf("word: %w", err)
	}
	word := base32.StdEncoding.EncodeToString(raw) // 16 letters, no padding
	hash := sha256.Sum256([]byte(word))
	g.wordMu.Lock()
	g.word = &hash
	g.wordMu.Unlock()
	return strings.Join([]string{word[0:4], word[4:8], word[8:12], word[12:16]}, "-"), nil
}

// FirstPerson adds the first head-office approver with the one-time word, which is used up by that. Faults
// NotReady/FIRST_PERSON_EXISTS, NotAllowed/WORD_WRONG, and those of AddPerson.
func (g *Guard) FirstPerson(ctx context.Context, word, email, title, password string) (Person, error) {
	word = strings.ToUpper(strings.NewReplacer("-", "", " ", "").Replace(word))
	hash := sha256.Sum256([]byte(word))
	g.wordMu.Lock()
	defer g.wordMu.Unlock() // two with the same word come one after the other
	if g.word == nil {
		return Person{}, fault.New(fault.NotReady, room, FirstPersonExists, "Somebody was here first. Ask them to add you.")
	}
	if subtle.ConstantTimeCompare(hash[:], g.word[:]) != 1 {
		return Person{}, fault.New(fault.NotAllowed, room, WordWrong, "This is not the word that the server printed at its start. Copy it again.")
	}
	p, err := g.add(ctx, Person{Email: email, Title: title, Roles: []Role{OfficeApprover}}, password, true)
	if f, ok := fault.As(err); err == nil || ok && f.Reason == FirstPersonExists {
		g.word = nil
	}
	return p, err
}
