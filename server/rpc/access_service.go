package rpc

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/types/known/timestamppb"

	accessv1 "evenpeel/proto/evenpeel/access/v1"
	"evenpeel/server/access"
)

type accessService struct {
	accessv1.UnimplementedAccessServiceServer
	h *House
}

var roleNumbers = map[access.Role]accessv1.Role{
	access.OfficeEditor: accessv1.Role_ROLE_OFFICE_EDITOR, access.OfficeApprover: accessv1.Role_ROLE_OFFICE_APPROVER, access.BranchOperator: accessv1.Role_ROLE_BRANCH_OPERATOR,
	access.BranchManager: accessv1.Role_ROLE_BRANCH_MANAGER, access.FranchiseManager: accessv1.Role_ROLE_FRANCHISE_MANAGER, access.Auditor: accessv1.Role_ROLE_AUDITOR,
}

func personMessage(p access.Person) *accessv1.Person {
	m := &accessv1.Person{Name: p.Name, Email: p.Email, Title: p.Title, Branch: p.Branch, Barred: p.Barred}
	for _, r := range p.Roles {
		m.Roles = append(m.Roles, roleNumbers[r])
	}
	return m
}

// fromBrowser tells a page from a native client: grpc-web asks as such, and only a page can keep a cookie.
func fromBrowser(ctx context.Context) bool {
	md, _ := metadata.FromIncomingContext(ctx)
	return len(md.Get("x-grpc-web")) > 0 || len(md.Get("sec-fetch-site")) > 0 || len(md.Get("origin")) > 0
}

func (s *accessService) SignIn(ctx context.Context, req *accessv1.SignInRequest) (*accessv1.SignInResponse, error) {
	token, session, p, err := s.h.Guard.SignIn(ctx, req.GetEmail(), req.GetPassword())
	if err != nil {
		return nil, err
	}
	answer := &accessv1.SignInResponse{Person: personMessage(p), EndTime: timestamppb.New(session.Ends)}
	if !fromBrowser(ctx) {
		answer.Token = token
		return answer, nil
	}
	return answer, grpc.SetHeader(ctx, metadata.Pairs("set-cookie", access.Cookie(token, session.Ends, s.h.Secure)))
}

func (s *accessService) SignOut(ctx context.Context, _ *accessv1.SignOutRequest) (*accessv1.SignOutResponse, error) {
	session, _ := access.SessionFrom(ctx)
	if err := s.h.Guard.SignOut(ctx, session.Hash); err != nil {
		return nil, err
	}
	return &accessv1.SignOutResponse{}, grpc.SetHeader(ctx, metadata.Pairs("set-cookie", access.NoCookie(s.h.Secure)))
}

func (s *accessService) WhoAmI(ctx context.Context, _ *accessv1.WhoAmIRequest) (*accessv1.WhoAmIResponse, error) {
	p, _ := access.PersonFrom(ctx)
	session, _ := access.SessionFrom(ctx)
	return &accessv1.WhoAmIResponse{Person: personMessage(p), EndTime: timestamppb.New(session.Ends), Version: s.h.Version}, nil
}

func (s *accessService) CreateFirstPerson(ctx context.Context, req *accessv1.CreateFirstPersonRequest) (*accessv1.CreateFirstPersonResponse, error) {
	p, err := s.h.Guard.FirstPerson(ctx, req.GetWord(), req.GetEmail(), req.GetTitle(), req.GetPassword())
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "CreateFirstPerson", p.Name)
	return &accessv1.CreateFirstPersonResponse{Person: personMessage(p)}, nil
}

func (s *accessService) ListPeople(ctx context.Context, _ *accessv1.ListPeopleRequest) (*accessv1.ListPeopleResponse, error) {
	people, err := s.h.Guard.People(ctx)
	if err != nil {
		return nil, err
	}
	answer := &accessv1.ListPeopleResponse{}
	for _, p := range people {
		answer.People = append(answer.People, personMessage(p))
	}
	return answer, nil
}

func (s *accessService) CreatePerson(ctx context.Context, req *accessv1.CreatePersonRequest) (*accessv1.CreatePersonResponse, error) {
	m := req.GetPerson()
	p := access.Person{Email: m.GetEmail(), Title: m.GetTitle(), Branch: m.GetBranch()}
	for _, number := range m.GetRoles() {
		for role, n := range roleNumbers {
			if n == number {
				p.Roles = append(p.Roles, role)
			}
		}
	}
	if p.Branch != "" {
		if _, err := s.h.Register.Branch(ctx, p.Branch); err != nil {
			return nil, err
		}
	}
	p, err := s.h.Guard.AddPerson(ctx, p, req.GetPassword())
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "CreatePerson", p.Name)
	return &accessv1.CreatePersonResponse{Person: personMessage(p)}, nil
}

func (s *accessService) EndSessions(ctx context.Context, req *accessv1.EndSessionsRequest) (*accessv1.EndSessionsResponse, error) {
	n, err := s.h.Guard.EndSessions(ctx, req.GetName(), req.GetBar())
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "EndSessions", req.GetName())
	return &accessv1.EndSessionsResponse{EndedCount: int32(n)}, nil
}
